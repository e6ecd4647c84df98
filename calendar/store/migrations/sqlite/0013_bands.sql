-- A region has several bands, each with its own weather, and may show species.

-- +goose Up

-- The site of a region is that of its first band. A region that has no row here has
-- one band, its site.
create table bands (
    region  text not null references regions (id),
    ordinal integer not null,
    id      text not null,
    name    text not null,
    site    integer not null references sites (id),
    primary key (region, ordinal),
    unique (region, id)
);

alter table regions add column species text; -- JSON
