-- +goose Up

-- The format of the edition that a publication upgraded; 0 for one that upgraded none.
alter table event add column upgraded_from integer not null default 0;
