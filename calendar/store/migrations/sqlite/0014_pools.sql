-- What members of clubs share of what they saw, and what keepers set aside.

-- +goose Up

create table pooled (
    grower    text not null references growers (id),
    tree      text not null, -- told nobody
    phase     text not null,
    day       text not null,
    species   text not null,
    season    integer not null,
    late      real not null, -- clock days
    variance  real not null,
    lat       real not null, -- rounded, as are lon and elevation
    lon       real not null,
    elevation real not null,
    primary key (grower, tree, phase, day)
);

-- The last of each decides.
create table asides (
    club    text not null references clubs (id),
    grower  text not null references growers (id),
    species text not null,
    phase   text not null,
    day     text not null,
    ordinal integer not null,
    keeper  text, -- null: has left the service
    since   text not null,
    back    boolean not null, -- counts again
    primary key (club, grower, species, phase, day, ordinal)
);

alter table tickets add column keeper text; -- who invites into a club
