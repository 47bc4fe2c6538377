-- Tables of an event: who writes, what was written, and where each log ends.

create table linewalk.lane (
    writer text primary key check (writer ~ '^[A-Za-z0-9_-]{1,64}$'),
    login name not null default session_user,
    machine text not null check (length(machine) <= 200),
    claimed timestamptz not null default now()
);

create table linewalk.record (
    writer text not null check (writer ~ '^[A-Za-z0-9_-]{1,64}$'),
    car text not null check (car ~ '^[A-Za-z0-9][A-Za-z0-9-]{0,99}$'),
    seq bigint not null check (seq > 0),
    line bytea not null check (length(line) between 1 and 1048576),
    received timestamptz not null default now(),
    primary key (writer, car, seq)
);
create index record_received on linewalk.record (received);

create table linewalk.tip (
    writer text not null,
    car text not null,
    seq bigint not null,
    sum text not null,
    received timestamptz not null,
    changed xid8 not null,
    primary key (writer, car)
);
create index tip_changed on linewalk.tip (changed);

-- A record comes at the end of its log and names the hash of the line before it. One that is there already,
-- byte for byte, is passed over, so that a lane may send again what it has no answer for.
create function linewalk.arrive() returns trigger language plpgsql security definer
    set search_path = pg_catalog, linewalk, pg_temp as $$
declare
    last bigint;
    before bytea;
    prev text := repeat('0', 64);
    start text;
begin
    select seq into last from linewalk.tip where writer = new.writer and car = new.car for update;
    if not found then
        insert into linewalk.tip values (new.writer, new.car, 0, '', now(), pg_current_xact_id())
            on conflict (writer, car) do nothing;
        select seq into last from linewalk.tip where writer = new.writer and car = new.car for update;
    end if;
    if new.seq <= last then
        perform from linewalk.record
            where writer = new.writer and car = new.car and seq = new.seq and line = new.line;
        if found then
            return null;
        end if;
        raise exception 'record % of % on car % is another one there', new.seq, new.writer, new.car
            using errcode = 'LW001';
    end if;
    if new.seq > last + 1 then
        raise exception 'record % of % on car % does not follow record %', new.seq, new.writer, new.car, last
            using errcode = 'LW001';
    end if;
    if last > 0 then
        select line into before from linewalk.record
            where writer = new.writer and car = new.car and seq = last;
        prev := encode(sha256(before), 'hex');
    end if;
    start := encode(substring(new.line for 1024), 'escape');
    if start !~ ('^\{"format":[0-9]+,"id":"[^"]{1,100}","writer":"' || new.writer || '","seq":' || new.seq
            || ',"prev":"' || prev || '",') then
        raise exception 'record % of % on car % does not name the line before it', new.seq, new.writer, new.car
            using errcode = 'LW001';
    end if;
    update linewalk.tip set seq = new.seq, received = new.received, changed = pg_current_xact_id(),
            sum = encode(substring(new.line from length(new.line) - 65 for 64), 'escape')
        where writer = new.writer and car = new.car;
    return new;
end $$;

create trigger record_arrives before insert on linewalk.record
    for each row execute function linewalk.arrive();

create function linewalk.tell() returns trigger language plpgsql
    set search_path = pg_catalog, pg_temp as $$
begin
    perform pg_notify('linewalk', '');
    return null;
end $$;

create trigger record_told after insert on linewalk.record
    for each statement execute function linewalk.tell();

-- Who may what. A lane reads everything and adds, as the writers bound to its own login; it changes and
-- deletes nothing. Race control reads. The owner of the tables may do the rest.
alter table linewalk.lane enable row level security;
alter table linewalk.record enable row level security;

create policy all_read on linewalk.lane for select to linewalk_lane, linewalk_control using (true);
create policy own_claim on linewalk.lane for insert to linewalk_lane with check (login = session_user);
create policy all_read on linewalk.record for select to linewalk_lane, linewalk_control using (true);
create policy own_writer on linewalk.record for insert to linewalk_lane
    with check (exists (select from linewalk.lane l where l.writer = record.writer and l.login = session_user));

revoke all on schema linewalk from public;
revoke all on all tables in schema linewalk from public;
revoke all on all functions in schema linewalk from public;
grant usage on schema linewalk to linewalk_lane, linewalk_control;
grant select on linewalk.version, linewalk.lane, linewalk.record, linewalk.tip
    to linewalk_lane, linewalk_control;
grant insert (writer, machine) on linewalk.lane to linewalk_lane;
grant insert (writer, car, seq, line) on linewalk.record to linewalk_lane;
