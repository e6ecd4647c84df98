-- Times are text of one width in UTC, so that they sort; days are YYYY-MM-DD.
-- What is optional is null.

-- +goose Up

pragma application_id = 0x62756473; -- "buds": a file of ours, and of no other program

create table growers (
    id       text primary key,
    name     text not null,
    email    text not null,
    key_hash text unique
);

-- A site with its weather, of a place or of a region.
create table sites (
    id              integer primary key,
    name            text not null,
    lat             real not null,
    lon             real not null,
    elevation       real not null,
    zone            text not null,
    normals         text, -- JSON
    frost           text, -- JSON
    seed            integer not null, -- the bits of an unsigned number
    record_source   text,
    record_first    text,
    forecast_source text,
    forecast_first  text
);

create table weather (
    site integer not null references sites (id),
    kind text not null, -- record or forecast
    year integer not null,
    days blob not null,
    primary key (site, kind, year)
);

create table places (
    grower text not null references growers (id),
    id     text not null,
    site   integer not null references sites (id),
    primary key (grower, id)
);

create table regions (
    id     text primary key,
    name   text not null,
    groups text not null, -- JSON
    site   integer not null references sites (id)
);

create table trees (
    grower     text not null references growers (id),
    id         text not null,
    ordinal    integer not null, -- in which they were added
    place      text not null,
    name       text not null,
    species    text not null,
    origin     text not null,
    field_soil real,
    container  text not null,
    litres     real not null,
    note       text not null,
    primary key (grower, id),
    foreign key (grower, place) references places (grower, id)
);

create table log (
    grower          text not null,
    tree            text not null,
    ordinal         integer not null,
    digest          text not null, -- of all that follows
    day             text not null,
    did             text not null,
    saw             text not null,
    not_yet         text not null,
    stage           text, -- null where nothing was judged
    strength        text,
    field_soil_left real,
    note            text not null,
    primary key (grower, tree, ordinal),
    unique (grower, tree, digest),
    foreign key (grower, tree) references trees (grower, id)
);

-- +goose StatementBegin
create trigger log_is_never_changed before update on log
begin
    select raise(abort, 'the log is only ever added to');
end;
-- +goose StatementEnd

-- +goose StatementBegin
create trigger log_is_never_shortened before delete on log
begin
    select raise(abort, 'the log is only ever added to');
end;
-- +goose StatementEnd

-- How often what a plan is made from was changed, by grower or region.
create table changes (
    owner text primary key,
    count integer not null
);

create table feeds (
    grower     text not null references growers (id),
    id         text not null,
    name       text not null,
    token_hash text not null unique,
    filter     text not null, -- JSON
    created    text not null,
    revoked    text,
    primary key (grower, id)
);

create table revisions (
    owner    text not null, -- a grower or a region
    uid      text not null,
    digest   text not null,
    sequence integer not null,
    modified text not null,
    primary key (owner, uid)
);

create table nudges (
    id        text primary key,
    grower    text not null references growers (id),
    kind      text not null,
    recipient text not null,
    title     text not null,
    body      text not null,
    decided   text not null,
    expires   text,
    sent      text,
    attempts  integer not null,
    retry     text,
    given_up  boolean not null,
    error     text not null
);

create index nudges_of_grower on nudges (grower, decided);
create index nudges_to_send on nudges (decided) where sent is null and not given_up and recipient <> '';

create table subjects (
    grower  text not null references growers (id),
    subject text not null,
    nudge   text not null references nudges (id),
    ordinal integer not null,
    primary key (grower, subject)
);

create index subjects_of_nudge on subjects (nudge, ordinal);

create table jobs (
    job text primary key,
    ran text not null
);
