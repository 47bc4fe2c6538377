//! Who may what on the event's server, editions of its tables, passwords and TLS, all on a real PostgreSQL.

use std::os::unix::fs::PermissionsExt;
use std::path::Path;
use std::process::Command;
use std::time::Duration;

use linewalk::shell::workspace::Replicator;

use crate::event_rig::{Machine, Pg, SOON, linewalk, programs, until, walk};

const ADD: &str = "insert into linewalk.record (writer, car, seq, line)";

/// What is refused whoever's records are there: login, statement, what the server says.
const REFUSED: &[(&str, &str, &str)] = &[
    ("lane1", "update linewalk.record set line = ''", "permission denied"),
    ("lane1", "delete from linewalk.record", "permission denied"),
    ("lane1", "truncate linewalk.record", "permission denied"),
    ("lane1", "update linewalk.tip set seq = 0", "permission denied"),
    ("lane1", "delete from linewalk.lane", "permission denied"),
    ("lane1", "update linewalk.car_file set body = ''", "permission denied"),
    ("lane1", "drop table linewalk.record", "must be owner"),
    ("lane1", "set role linewalk_owner", "permission denied"),
    (
        "lane1",
        "insert into linewalk.record (writer, car, seq, line, received) values ('a', 'b', 1, 'c', now())",
        "permission denied",
    ),
    (
        "lane1",
        "insert into linewalk.lane (writer, machine, login) values ('a', 'm', 'lane2')",
        "permission denied",
    ),
    (
        "control",
        "insert into linewalk.record (writer, car, seq, line) values ('a', 'b', 1, 'c')",
        "permission denied",
    ),
    ("control", "insert into linewalk.lane (writer, machine) values ('a', 'b')", "permission denied"),
    ("control", "delete from linewalk.record", "permission denied"),
];

/// What is refused about the records of one writer, that of `lane2`.
fn refused_about(writer: &str) -> Vec<(&'static str, String, &'static str)> {
    let row = |login, cells: &str, seq: u32, word| {
        let from = format!("from linewalk.record where writer = '{writer}' and seq = {seq}");
        (login, format!("{ADD} select {cells} {from}"), word)
    };
    vec![
        // As another writer: a record that would fit there in every other way.
        row("lane1", "writer, 'teal', 1, line", 1, "row-level security"),
        row("lane2", "writer, car, 3, line", 2, "does not name the line before"),
        row("lane2", "writer, car, 2, 'x'", 2, "another one there"),
        row("lane2", "writer, car, 9, line", 2, "does not follow"),
    ]
}

#[test]
fn what_no_lane_may_do_is_refused_by_the_server_itself() {
    let Some(programs) = programs("rights of the roles") else { return };
    let pg = Pg::start(programs, false);
    let machines = [Machine::new(), Machine::new()];
    for (at, machine) in machines.iter().enumerate() {
        let lane = machine.join(&pg.url(&format!("lane{}", at + 1)));
        walk(machine, Some(&lane), "heron", 2, Duration::ZERO);
        until("all is sent", SOON, || {
            lane.status().joined && lane.status().unsent == 0 && lane.status().sent == 2
        });
        lane.finish();
    }
    let other = &machines[1].writer;
    let always = REFUSED.iter().map(|(login, sql, word)| (*login, (*sql).to_owned(), *word));
    for (login, sql, word) in always.chain(refused_about(other)) {
        let output = pg.try_sql(login, &sql);
        let said = String::from_utf8_lossy(&output.stderr);
        println!("{login}: {sql}\n    {}", said.trim());
        assert!(!output.status.success() && said.contains(word), "{login}: {sql}: {said}");
    }
    assert_eq!(pg.sql("control", "select count(*) from linewalk.record"), "4");
}

#[test]
fn older_and_newer_tables_are_told_apart_and_brought_forward_only() {
    let Some(programs) = programs("editions of the tables") else { return };
    let pg = Pg::bare(programs, false, "trust");
    let machine = Machine::new();
    let join = || {
        let mut command = linewalk(machine.home.path());
        let output = command.args(["event", "join", &pg.url("postgres")]).output().unwrap();
        String::from_utf8(output.stderr).unwrap()
    };
    assert!(join().contains("there is no event in this database"));
    // The first edition, as the first program made it.
    let first = [linewalk::lanes::schema::MAKE_ROLES, "begin", linewalk::lanes::schema::BEGIN];
    let first = first.join(";") + ";" + linewalk::lanes::schema::script(1).unwrap();
    pg.sql("postgres", &format!("{first}; update linewalk.version set edition = 1; commit"));
    assert!(join().contains("its owner brings them up"));
    let made = pg.create_event("postgresql://postgres@127.0.0.1");
    assert!(String::from_utf8_lossy(&made.stdout).contains("brought up from edition 1"), "{made:?}");
    assert_eq!(join(), "");
    let made = pg.create_event("postgresql://postgres@127.0.0.1");
    assert!(String::from_utf8_lossy(&made.stdout).contains("nothing was changed"), "{made:?}");
    pg.sql("postgres", "update linewalk.version set edition = 99");
    assert!(join().contains("newer linewalk (tables 99"));
    let made = pg.create_event("postgresql://postgres@127.0.0.1");
    assert_eq!(made.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&made.stderr).contains("install that edition"), "{made:?}");
    assert_eq!(pg.sql("postgres", "select edition from linewalk.version"), "99");
}

/// Starts a server again with TLS, under a certificate for `localhost` that signs itself; gives its file.
fn with_tls(pg: &mut Pg) -> String {
    let (key, cert) = (pg.path().join("server.key"), pg.path().join("server.crt"));
    let words = "req -x509 -newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -nodes -days 30 -subj /CN=localhost \
        -addext subjectAltName=DNS:localhost -addext basicConstraints=critical,CA:FALSE -keyout";
    let mut make = Command::new("openssl");
    let made = make.args(words.split_whitespace()).arg(&key).arg("-out").arg(&cert).output();
    assert!(made.is_ok_and(|made| made.status.success()), "openssl makes no certificate");
    std::os::unix::fs::chown(&key, Some(65534), Some(65534)).unwrap_or_default();
    pg.kill();
    pg.set("ssl=on");
    pg.set(&format!("ssl_key_file={}", key.display()));
    pg.set(&format!("ssl_cert_file={}", cert.display()));
    pg.begin();
    cert.display().to_string()
}

/// Joins with this environment: the status, and all that was said, which never holds the password.
fn join(home: &Path, url: &str, extra: &[(&str, &str)]) -> (Option<i32>, String) {
    let mut command = linewalk(home);
    let output = command.args(["event", "join", url]).envs(extra.iter().copied()).output().unwrap();
    let said = [output.stdout, output.stderr].concat();
    let said = String::from_utf8(said).unwrap();
    assert!(!said.contains("hush"), "{said}");
    (output.status.code(), said)
}

#[test]
fn passwords_come_from_the_usual_places_and_tls_is_verified() {
    let Some(programs) = programs("passwords and TLS") else { return };
    let mut pg = Pg::bare(programs, false, "scram-sha-256");
    let ca = with_tls(&mut pg);
    let made = pg.create_event("postgresql://postgres@localhost");
    assert!(made.status.success(), "{made:?}");
    pg.sql("postgres", "create role lane1 login password 'hush' in role linewalk_lane");
    let machine = Machine::new();
    let join = |url: &str, extra: &[(&str, &str)]| join(machine.home.path(), url, extra);
    let port = pg.port;
    let plain = format!("postgresql://lane1@localhost:{port}/postgres");
    let (code, said) = join(&plain, &[]);
    assert!(code == Some(1) && said.contains("needs a password: put it into ~/.pgpass"), "{said}");
    assert_eq!(join(&plain, &[("PGPASSWORD", "hush")]).0, Some(0));
    assert!(join(&plain, &[("PGPASSWORD", "wrong")]).1.contains("password authentication failed"));
    let pass = machine.home.path().join(".pgpass");
    std::fs::write(&pass, format!("localhost:{port}:*:lane1:hush\n")).unwrap();
    assert!(join(&plain, &[]).1.contains("can be read by others"));
    std::fs::set_permissions(&pass, std::fs::Permissions::from_mode(0o600)).unwrap();
    assert_eq!(join(&plain, &[]).0, Some(0));
    let (code, said) = join(&format!("{plain}?sslmode=verify-full&sslrootcert={ca}"), &[]);
    assert_eq!(code, Some(0), "{said}");
    let unknown = join(&format!("{plain}?sslmode=verify-full"), &[]).1;
    assert!(unknown.contains("certificate"), "{unknown}");
    let other_name =
        format!("postgresql://lane1@127.0.0.1:{port}/postgres?sslmode=verify-full&sslrootcert={ca}");
    let other = join(&other_name, &[("PGPASSWORD", "hush")]).1;
    assert!(other.contains("certificate"), "{other}");
    std::fs::remove_file(&pass).unwrap();
    let service =
        format!("[track]\nhost=localhost\nport={port}\nuser=lane1\ndbname=postgres\npassword=hush\n");
    std::fs::write(machine.home.path().join(".pg_service.conf"), service).unwrap();
    assert_eq!(join("service=track", &[]).0, Some(0));
    let kept = std::fs::read_to_string(machine.paths.config.join("event.toml")).unwrap();
    assert_eq!(kept, "url = \"service=track\"\n");
}
