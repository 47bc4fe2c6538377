//! The event's tables, as scripts that bring them forward one edition at a time, and its three roles.

/// The edition of the tables that this program knows.
pub const EDITION: i32 = 2;

/// Oldest server that knows what the tables need (`xid8`), as `server_version_num`.
pub const OLDEST_SERVER: i32 = 130_000;

/// Makes the roles where they are not there. Needs a login that may create roles.
pub const MAKE_ROLES: &str = "
do $$
declare wanted text;
begin
    foreach wanted in array array['linewalk_lane', 'linewalk_control', 'linewalk_owner'] loop
        if not exists (select from pg_catalog.pg_roles where rolname = wanted) then
            execute format('create role %I nologin', wanted);
        end if;
    end loop;
    if not pg_catalog.pg_has_role(current_user, 'linewalk_owner', 'member') then
        execute format('grant linewalk_owner to %I', current_user);
    end if;
    execute format('grant create, connect on database %I to linewalk_owner', current_database());
    execute format('grant connect on database %I to linewalk_lane, linewalk_control', current_database());
end $$";

/// The schema and the table that says its edition.
pub const BEGIN: &str = "
set local role linewalk_owner;
create schema if not exists linewalk authorization linewalk_owner;
create table if not exists linewalk.version (
    only_one boolean primary key default true check (only_one),
    edition integer not null
);
insert into linewalk.version (edition) values (0) on conflict do nothing";

/// The script that brings the tables from the edition before to this one.
pub fn script(edition: i32) -> Option<&'static str> {
    match edition {
        1 => Some(include_str!("sql/1.sql")),
        2 => Some(include_str!("sql/2.sql")),
        _ => None,
    }
}
