-- Nudges have several channels, links that act, and preferences.

-- +goose Up

-- One row for each nudge and channel; the columns of the mail move here.
create table deliveries (
    id        text primary key,
    grower    text not null references growers (id),
    nudge     text not null references nudges (id),
    channel   text not null,
    recipient text not null,
    decided   text not null, -- as of the nudge, and so that the oldest is found at once
    expires   text,
    sent      text,
    attempts  integer not null,
    retry     text,
    given_up  boolean not null,
    error     text not null
);

create index deliveries_of_nudge on deliveries (nudge);
create index deliveries_of_grower on deliveries (grower);
create index deliveries_to_do on deliveries (channel, decided, id) where sent is null and not given_up;

insert into deliveries (id, grower, nudge, channel, recipient, decided, expires, sent, attempts, retry, given_up, error)
    select id, grower, id, 'mail', recipient, decided, expires, sent, attempts, retry, given_up, error from nudges where recipient <> '';

drop index nudges_to_send;
alter table nudges drop column recipient;
alter table nudges drop column sent;
alter table nudges drop column attempts;
alter table nudges drop column retry;
alter table nudges drop column given_up;
alter table nudges drop column error;
alter table nudges add column urgent boolean not null default false;
alter table nudges add column html text not null default '';

-- The day that a grower was last told of a thing to come.
create table told_days (
    grower text not null references growers (id),
    key    text not null,
    day    text not null,
    told   text not null,
    primary key (grower, key)
);

create table links (
    hash    text primary key,
    grower  text not null references growers (id),
    nudge   text not null references nudges (id),
    ordinal integer not null,
    secret  text, -- null once the nudge is delivered
    does    text not null,
    label   text not null,
    trees   text not null, -- JSON
    expires text not null
);

create index links_of_nudge on links (nudge, ordinal);

create table link_uses (
    grower text not null references growers (id),
    link   text not null references links (hash),
    tree   text not null,
    entry  text not null, -- JSON
    used   text not null,
    back   text, -- taken back
    primary key (link, tree)
);

-- That an entry of the log was taken back (at a time) or entered again (null).
-- The last row of an entry says whether it stands.
create table withdrawals (
    grower    text not null,
    tree      text not null,
    digest    text not null,
    ordinal   integer not null,
    withdrawn text,
    primary key (grower, tree, digest, ordinal),
    foreign key (grower, tree, digest) references log (grower, tree, digest)
);

create table preferences (
    grower text primary key references growers (id),
    value  text not null -- JSON
);

create table webhooks (
    grower  text not null references growers (id),
    id      text not null,
    url     text not null,
    secret  text not null,
    created text not null,
    ended   text,
    why     text not null,
    primary key (grower, id)
);
