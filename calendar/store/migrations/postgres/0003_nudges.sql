-- Nudges have several channels, links that act, and preferences.

-- +goose Up

-- One row for each nudge and channel; the columns of the mail move here.
create table deliveries (
    id        text collate "C" primary key,
    grower    text collate "C" not null references growers (id) deferrable,
    nudge     text collate "C" not null references nudges (id) deferrable,
    channel   text collate "C" not null,
    recipient text collate "C" not null,
    decided   text collate "C" not null, -- as of the nudge, and so that the oldest is found at once
    expires   text collate "C",
    sent      text collate "C",
    attempts  bigint not null,
    retry     text collate "C",
    given_up  boolean not null,
    error     text collate "C" not null
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
alter table nudges add column html text collate "C" not null default '';

-- The day that a grower was last told of a thing to come.
create table told_days (
    grower text collate "C" not null references growers (id) deferrable,
    key    text collate "C" not null,
    day    text collate "C" not null,
    told   text collate "C" not null,
    primary key (grower, key)
);

create table links (
    hash    text collate "C" primary key,
    grower  text collate "C" not null references growers (id) deferrable,
    nudge   text collate "C" not null references nudges (id) deferrable,
    ordinal bigint not null,
    secret  text collate "C", -- null once the nudge is delivered
    does    text collate "C" not null,
    label   text collate "C" not null,
    trees   text collate "C" not null, -- JSON
    expires text collate "C" not null
);

create index links_of_nudge on links (nudge, ordinal);

create table link_uses (
    grower text collate "C" not null references growers (id) deferrable,
    link   text collate "C" not null references links (hash) deferrable,
    tree   text collate "C" not null,
    entry  text collate "C" not null, -- JSON
    used   text collate "C" not null,
    back   text collate "C", -- taken back
    primary key (link, tree)
);

-- That an entry of the log was taken back (at a time) or entered again (null).
-- The last row of an entry says whether it stands.
create table withdrawals (
    grower    text collate "C" not null,
    tree      text collate "C" not null,
    digest    text collate "C" not null,
    ordinal   bigint not null,
    withdrawn text collate "C",
    primary key (grower, tree, digest, ordinal),
    foreign key (grower, tree, digest) references log (grower, tree, digest) deferrable
);

create table preferences (
    grower text collate "C" primary key references growers (id) deferrable,
    value  text collate "C" not null -- JSON
);

create table webhooks (
    grower  text collate "C" not null references growers (id) deferrable,
    id      text collate "C" not null,
    url     text collate "C" not null,
    secret  text collate "C" not null,
    created text collate "C" not null,
    ended   text collate "C",
    why     text collate "C" not null,
    primary key (grower, id)
);
