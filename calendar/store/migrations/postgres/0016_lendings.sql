-- A band may take its weather from a place of one who edits its region.

-- +goose Up

-- Both are null where the grower has left, edits the region no more, or has no such place: the
-- band has its own weather again, and its editors are told. Rows go with the band, for
-- instances of before this write bands anew and know nothing of it.
create table lendings (
    region text collate "C" not null,
    band   text collate "C" not null,
    grower text collate "C",
    place  text collate "C",
    primary key (region, band),
    foreign key (region, band) references bands (region, id) on delete cascade deferrable,
    foreign key (grower, place) references places (grower, id) on delete set null deferrable
);

create index lendings_place on lendings (grower, place);
