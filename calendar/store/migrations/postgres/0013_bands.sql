-- A region has several bands, each with its own weather, and may show species.

-- +goose Up

-- The site of a region is that of its first band. A region that has no row here has
-- one band, its site.
create table bands (
    region  text collate "C" not null references regions (id) deferrable,
    ordinal bigint not null,
    id      text collate "C" not null,
    name    text collate "C" not null,
    site    bigint not null references sites (id) deferrable,
    primary key (region, ordinal),
    unique (region, id)
);

alter table regions add column species text collate "C"; -- JSON
