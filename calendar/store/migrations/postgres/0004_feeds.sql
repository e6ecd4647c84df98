-- What feeds last showed, so that a poll is answered without a plan, and the
-- passwords of programs that connect.

-- +goose Up

-- What was last published for an owner: "grower ID" or "region ID".
create table editions (
    owner   text collate "C" primary key,
    grower  text collate "C" references growers (id) deferrable, -- null: of a region
    number  bigint not null, -- rises whenever something shown changes
    changes bigint not null, -- of the owner, when it was made
    made_by text collate "C" not null,    -- which program and lore
    day     text collate "C" not null,    -- of the plan
    starts  text collate "C" not null,    -- from when to when that is today's
    ends    text collate "C" not null
);

-- Events and tasks as they were last shown. Those that are gone stay, so that
-- programs that ask what changed hear of it.
create table shown (
    owner    text collate "C" not null references editions (owner) on delete cascade deferrable,
    uid      text collate "C" not null,
    state    text collate "C" not null, -- JSON
    digest   text collate "C" not null,
    sequence bigint not null,
    modified text collate "C" not null,
    changed  bigint not null, -- the number of the edition in which it did
    gone     boolean not null,
    primary key (owner, uid)
);

-- The feeds of an edition, ready to be served.
create table bodies (
    owner    text collate "C" not null references editions (owner) on delete cascade deferrable,
    name     text collate "C" not null,
    tag      text collate "C" not null, -- of what is in it
    modified text collate "C", -- null where that is not told
    plain    bytea not null,
    packed   bytea not null, -- gzip
    primary key (owner, name)
);

-- Passwords of programs.
create table passwords (
    grower  text collate "C" not null references growers (id) deferrable,
    id      text collate "C" not null,
    name    text collate "C" not null,
    hash    text collate "C" not null unique,
    created text collate "C" not null,
    used    text collate "C",
    revoked text collate "C",
    primary key (grower, id)
);
