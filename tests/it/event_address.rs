//! Addresses, password files and service files of an event's server.

use linewalk::lanes::address::{Address, Tls, read};
use linewalk::lanes::secrets::{in_passfile, in_service_file};

fn address(url: &str) -> Result<Address, String> {
    read(url).and_then(|asked| asked.settle(false))
}

fn plain_address(host: &str) -> Address {
    Address {
        host: host.to_owned(),
        port: 5432,
        user: "lane1".to_owned(),
        database: "event".to_owned(),
        tls: Tls::Verified,
        sslrootcert: None,
    }
}

#[test]
fn urls_are_read() {
    assert_eq!(address("postgresql://lane1@timing.example/event").unwrap(), plain_address("timing.example"));
    let six = address("postgres://lane1@[fe80::1]:6000/event?sslrootcert=%2Fca.pem").unwrap();
    assert_eq!((six.host.as_str(), six.port, six.tls), ("fe80::1", 6000, Tls::Verified));
    assert_eq!(six.sslrootcert.as_deref(), Some("/ca.pem"));
    let odd = address("postgresql://lane%201@h/e%2Fv").unwrap();
    assert_eq!((odd.user.as_str(), odd.database.as_str()), ("lane 1", "e/v"));
    assert_eq!(read("service=track").unwrap().service.as_deref(), Some("track"));
    assert_eq!(read("track").unwrap().service.as_deref(), Some("track"));
}

#[test]
fn a_password_in_the_url_is_refused_and_not_repeated() {
    for url in ["postgresql://lane1:hush@h/e", "postgresql://h/e?password=hush", "postgres://:hush@h/e"] {
        let said = read(url).unwrap_err();
        assert!(said.contains("holds a password") && !said.contains("hush"), "{said}");
    }
}

#[test]
fn protection_is_the_default_and_its_absence_has_to_be_said() {
    for here in ["localhost", "127.0.0.1", "127.8.0.1", "[::1]", "%2Frun%2Fpostgresql"] {
        assert_eq!(address(&format!("postgresql://l@{here}/e")).unwrap().tls, Tls::Plain, "{here}");
    }
    assert_eq!(address("postgresql://l@127.0.0.1/e?sslmode=verify-full").unwrap().tls, Tls::Verified);
    for there in ["timing.example", "10.0.0.5", "[fe80::1]", "127.0.0.1.example", "localhost.example"] {
        let url = format!("postgresql://l@{there}/e");
        assert_eq!(address(&url).unwrap().tls, Tls::Verified, "{there}");
        let plain = read(&format!("{url}?sslmode=disable")).unwrap();
        assert!(plain.settle(false).unwrap_err().contains("--plain"), "{there}");
        assert_eq!(plain.settle(true).unwrap().tls, Tls::Plain);
        assert!(address(&format!("{url}?sslmode=prefer")).unwrap_err().contains("without protection"));
    }
}

#[test]
fn what_is_no_address_is_refused_with_the_remedy() {
    for (url, word) in [
        ("", "give a URL"),
        ("http://h/e", "give a URL"),
        ("postgresql://l@h:0/e", "port"),
        ("postgresql://l@h:x/e", "port"),
        ("postgresql://l@a,b/e", "one host"),
        ("postgresql://l@[::1/e", "no ]"),
        ("postgresql://l@h/e?colour=red", "`colour` is not known"),
        ("postgresql://l@h/e%zz", "hexadecimal"),
        ("postgresql://l@h/e%0a", "plain text"),
        ("postgresql://l@h/e?sslmode=maybe", "not known"),
        ("postgresql://h/e", "no login"),
    ] {
        let said = address(url).unwrap_err();
        assert!(said.contains(word), "{url}: {said}");
    }
}

/// The rules of a password file as PostgreSQL's manual has them, in "The Password File" (from memory).
#[test]
fn password_files_are_read_as_postgresql_reads_them() {
    let file = "# timing.example:*:*:*:remark\n\
        other:5432:event:lane1:wrong\n\
        timing.example:5432:event:lane2:wrong\n\
        timing.example:*:event:lane1:a\\:b\\\\c:d\n\
        *:*:*:*:last\n";
    let found = in_passfile(file, &plain_address("timing.example")).unwrap();
    assert_eq!(found.reveal(), "a:b\\c:d");
    assert_eq!(in_passfile(file, &plain_address("elsewhere")).unwrap().reveal(), "last");
    assert!(in_passfile("\\*:*:*:*:x", &plain_address("elsewhere")).is_none());
    assert_eq!(in_passfile("localhost:*:*:*:x", &plain_address("/run/pg")).unwrap().reveal(), "x");
    assert!(in_passfile("a:b\n\n:::\n", &plain_address("a")).is_none());
    assert_eq!(format!("{found:?}"), "Secret(…)");
}

#[test]
fn service_files_are_read() {
    let file = "[other]\nhost=no\n[track]\n# remark\nhost = timing.example\nport=6000\ndbname=event\nuser=lane1\n\
        password=hush\nunheard=of\n[next]\nhost=no\n";
    let asked = in_service_file(file, "track").unwrap().unwrap();
    let found = asked.settle(false).unwrap();
    assert_eq!(found, Address { port: 6000, ..plain_address("timing.example") });
    assert_eq!(asked.password.unwrap().reveal(), "hush");
    assert!(in_service_file(file, "none").unwrap().is_none());
    assert!(in_service_file("[track]\nport=many", "track").is_err());
}
