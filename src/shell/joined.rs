//! Which event this machine has joined, and where the password for it is. The password itself is never written.

use std::path::{Path, PathBuf};

use crate::diagnostic::{escape_control, shown};
use crate::lanes::address::{self, Address, Asked};
use crate::lanes::engine::Me;
use crate::lanes::secrets::{Secret, in_passfile, in_service_file};
use crate::logbook::hash::Hex;

use super::config::settings_in;
use super::paths::{Paths, read_text, text_of, told, write_whole};
use super::system::open_to_others;

/// The event joined, as `<config>/event.toml` has it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Joined {
    /// URL or service name, as it was given.
    pub url: String,
    /// Whether a connection without TLS to another machine was expressly wanted.
    pub plain: bool,
}

/// An address with its password, where one was found.
#[derive(Clone, Debug)]
pub struct Target {
    /// The address.
    pub address: Address,
    /// The password.
    pub secret: Option<Secret>,
}

fn file(paths: &Paths) -> PathBuf {
    paths.config.join("event.toml")
}

/// The event this machine has joined.
///
/// # Errors
/// Every mistake in its file.
pub fn joined(paths: &Paths) -> Result<Option<Joined>, String> {
    settings_in(&file(paths), |r| Joined {
        url: r.need_text("url", "URL of the event's server, or the name of a service."),
        plain: r.flag("plain", "Whether a connection without TLS is wanted.").unwrap_or_default(),
    })
}

/// Writes down which event is joined. The URL has been read before, and holds no password.
///
/// # Errors
/// Where it cannot be written.
pub fn remember(paths: &Paths, joined: &Joined) -> Result<(), String> {
    let url = toml::Value::String(joined.url.clone());
    let plain = if joined.plain { "plain = true\n" } else { "" };
    write_whole(&file(paths), format!("url = {url}\n{plain}").as_bytes())
}

/// Leaves the event; whether one was joined.
///
/// # Errors
/// Where the file cannot be removed.
pub fn leave(paths: &Paths) -> Result<bool, String> {
    let path = file(paths);
    match std::fs::remove_file(&path) {
        Ok(()) => Ok(true),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(false),
        Err(error) => Err(told("remove", &path, &error)),
    }
}

/// Finds address and password: what was given, then the service file, then the environment; the password from
/// `PGPASSWORD`, the service file or the password file.
///
/// # Errors
/// What is wrong or missing.
pub fn target(joined: &Joined) -> Result<Target, String> {
    let mut asked = address::read(&joined.url)?;
    asked.service = asked.service.or_else(|| env("PGSERVICE"));
    if let Some(name) = asked.service.clone() {
        let found = service(&name)?;
        asked = asked.or(found);
    }
    let port = env("PGPORT").map(|port| port.parse()).transpose();
    let asked = asked.or(Asked {
        host: env("PGHOST"),
        port: port.map_err(|_| "PGPORT is no port: a number from 1 to 65535".to_owned())?,
        user: env("PGUSER").or_else(|| env("USER")),
        database: env("PGDATABASE"),
        sslrootcert: env("PGSSLROOTCERT"),
        sslmode: env("PGSSLMODE"),
        passfile: env("PGPASSFILE"),
        ..Asked::default()
    });
    let address = asked.settle(joined.plain)?;
    let secret = match env("PGPASSWORD") {
        Some(password) => Some(Secret::new(password)),
        None if asked.password.is_some() => asked.password,
        None => from_passfile(asked.passfile.map(PathBuf::from), &address)?,
    };
    Ok(Target { address, secret })
}

fn env(name: &str) -> Option<String> {
    std::env::var(name).ok().filter(|value| !value.is_empty())
}

fn home() -> Option<PathBuf> {
    directories::BaseDirs::new().map(|dirs| dirs.home_dir().to_owned())
}

fn service(name: &str) -> Result<Asked, String> {
    let own =
        env("PGSERVICEFILE").map(PathBuf::from).or_else(|| home().map(|home| home.join(".pg_service.conf")));
    let common = env("PGSYSCONFDIR").map(|dir| Path::new(&dir).join("pg_service.conf"));
    for path in [own, common].into_iter().flatten().filter(|path| path.is_file()) {
        if let Some(asked) = in_service_file(&read_text(&path)?, name)? {
            return Ok(asked);
        }
    }
    Err(format!(
        "there is no service {} in ~/.pg_service.conf: give a URL, as postgresql://lane1@timing.example/event",
        escape_control(name)
    ))
}

fn from_passfile(given: Option<PathBuf>, address: &Address) -> Result<Option<Secret>, String> {
    let usual = if cfg!(windows) {
        std::env::var_os("APPDATA").map(|dir| Path::new(&dir).join("postgresql").join("pgpass.conf"))
    } else {
        home().map(|home| home.join(".pgpass"))
    };
    let Some(path) = given.or(usual).filter(|path| path.is_file()) else { return Ok(None) };
    if open_to_others(&path) {
        return Err(format!("{} can be read by others and is not used: chmod 600 {0}", shown(&path)));
    }
    Ok(in_passfile(&read_text(&path)?, address))
}

/// Who this machine is. Its mark is made of what a copied settings folder does not carry along.
///
/// # Errors
/// Where its writer id can be neither read nor made.
pub fn me(paths: &Paths) -> Result<Me, String> {
    let read = |path: &str| std::fs::read_to_string(path).map(|text| text.trim().to_owned()).ok();
    let host = read("/proc/sys/kernel/hostname").or_else(|| env("HOSTNAME")).or_else(|| env("COMPUTERNAME"));
    let host: String = host.unwrap_or_else(|| "a machine".to_owned()).chars().take(60).collect();
    let config = std::fs::canonicalize(&paths.config).unwrap_or_else(|_| paths.config.clone());
    let whole = format!("{}\n{host}\n{}", read("/etc/machine-id").unwrap_or_default(), text_of(&config));
    let mark: String = Hex::of(whole.as_bytes()).text().chars().take(12).collect();
    Ok(Me { writer: Some(paths.writer_id()?), machine: format!("{} ({mark})", escape_control(&host)) })
}
