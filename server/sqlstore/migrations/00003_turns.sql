-- +goose Up

-- Who may publish next, after the event of that number and until then, in milliseconds of Unix time.
alter table head add column turn        text   not null default '';
alter table head add column turn_number bigint not null default 0;
alter table head add column turn_until  bigint not null default 0;
