-- One text for SQLite and PostgreSQL. SQLite keeps blobs as they are in a column called bytea. Text is compared for equality only, which
-- both databases do by bytes, whatever the collation. No column is ever null: what there isn't is '' or 0.

-- +goose Up

-- The one row that every write takes first, so that writes come one after another.
create table head (
    id     integer primary key check (id = 1),
    number bigint  not null -- of the last event
);
insert into head (id, number) values (1, 0);

create table file (
    digest text  primary key, -- SHA-256 of data, in hex
    data   bytea not null
);

create table edition (
    revision text primary key
);

create table edition_file (
    revision text    not null references edition (revision),
    place    integer not null, -- from 0
    name     text    not null,
    digest   text    not null references file (digest),
    primary key (revision, place)
);

create table event (
    number         bigint primary key, -- from 1, without gaps
    kind           text   not null check (kind in ('publish', 'restore', 'withdraw')),
    revision       text   not null references edition (revision),
    base           text   not null, -- what was live before; '' for the first
    restored_from  bigint not null, -- the earlier event that a restore goes back to
    author         text   not null,
    note           text   not null,
    at             text   not null, -- RFC 3339, UTC
    preview_digest text   not null,
    reviewed_by    text   not null
);
create index event_revision on event (revision, number);
create unique index event_withdrawn on event (revision) where kind = 'withdraw';

create table request (
    id     text   primary key,
    call   text   not null check (call in ('publish', 'withdraw')),
    digest text   not null,
    number bigint not null references event (number) -- the last event that the request made
);
