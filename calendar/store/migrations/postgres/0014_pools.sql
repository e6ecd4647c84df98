-- What members of clubs share of what they saw, and what keepers set aside.

-- +goose Up

create table pooled (
    grower    text collate "C" not null references growers (id) deferrable,
    tree      text collate "C" not null, -- told nobody
    phase     text collate "C" not null,
    day       text collate "C" not null,
    species   text collate "C" not null,
    season    bigint not null,
    late      double precision not null, -- clock days
    variance  double precision not null,
    lat       double precision not null, -- rounded, as are lon and elevation
    lon       double precision not null,
    elevation double precision not null,
    primary key (grower, tree, phase, day)
);

-- The last of each decides.
create table asides (
    club    text collate "C" not null references clubs (id) deferrable,
    grower  text collate "C" not null references growers (id) deferrable,
    species text collate "C" not null,
    phase   text collate "C" not null,
    day     text collate "C" not null,
    ordinal bigint not null,
    keeper  text collate "C", -- null: has left the service
    since   text collate "C" not null,
    back    boolean not null, -- counts again
    primary key (club, grower, species, phase, day, ordinal)
);

alter table tickets add column keeper text collate "C"; -- who invites into a club
