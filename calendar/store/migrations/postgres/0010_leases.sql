-- Which instance holds a job.

-- +goose Up

create table leases (
    job   text collate "C" primary key,
    slot  text collate "C" not null, -- the time for which the job is scheduled
    fence bigint not null, -- rises whenever the job is taken
    until text collate "C" not null,
    done  boolean not null
);
