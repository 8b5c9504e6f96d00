-- +goose Up

-- The tokens of those who may call the servers that share this store. Of a secret nothing is kept but its digest.
create table token (
    name     text primary key, -- given once
    roles    text not null, -- joined by commas
    sha256   text not null unique, -- of the secret, in hex
    created  text not null, -- RFC 3339, UTC
    expires  text not null,
    revoked  text not null, -- '' while it isn't
    reviewer text not null, -- of a token with the role review: the registered name
    licence  text not null
);
