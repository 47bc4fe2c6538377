//! Where the event's server is, as people write it: a URL without a password, or the name of a service.

use std::fmt;

use crate::secrets::Secret;

/// What was written, before anything else fills what is left out.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Asked {
    /// A section of the service file.
    pub service: Option<String>,
    /// Host name, address, or the folder of a socket.
    pub host: Option<String>,
    /// Port.
    pub port: Option<u16>,
    /// Login.
    pub user: Option<String>,
    /// Database.
    pub database: Option<String>,
    /// `sslmode`.
    pub sslmode: Option<String>,
    /// File of the certificates to trust.
    pub sslrootcert: Option<String>,
    /// Password file.
    pub passfile: Option<String>,
    /// Password, which only a service file may hold.
    pub password: Option<Secret>,
}

/// How the connection is protected.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tls {
    /// TLS, with the server's certificate and name verified.
    Verified,
    /// None: on this machine alone, or where it was expressly said.
    Plain,
}

/// Everything that is needed to connect, but the password.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Address {
    /// Host name, address, or the folder of a socket.
    pub host: String,
    /// Port.
    pub port: u16,
    /// Login.
    pub user: String,
    /// Database.
    pub database: String,
    /// Protection.
    pub tls: Tls,
    /// File of the certificates to trust, beside the system's own.
    pub sslrootcert: Option<String>,
}

impl fmt::Display for Address {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{} at {}:{}, as {}", self.database, self.host, self.port, self.user)
    }
}

/// Why a URL with a password is refused.
const NO_PASSWORD: &str = "the URL holds a password, and would be kept and shown with it: take it out, and put the \
    password into ~/.pgpass, a service file or PGPASSWORD";

/// Reads a URL, `service=NAME`, or the bare name of a service.
///
/// # Errors
/// What is wrong with it and what would be accepted. The message never repeats a password.
pub fn read(text: &str) -> Result<Asked, String> {
    let text = text.trim();
    let rest = text.strip_prefix("postgresql://").or_else(|| text.strip_prefix("postgres://"));
    let Some(rest) = rest else {
        let name = text.strip_prefix("service=").unwrap_or(text);
        let fits = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.');
        if !name.is_empty() && name.chars().all(fits) {
            return Ok(Asked { service: Some(name.to_owned()), ..Asked::default() });
        }
        return Err(
            "give a URL, as postgresql://lane1@timing.example/event, or the name of a service".to_owned()
        );
    };
    let (rest, query) = rest.split_once('?').unwrap_or((rest, ""));
    let (authority, database) = rest.split_once('/').unwrap_or((rest, ""));
    let (user, hosts) = match authority.rsplit_once('@') {
        Some((user, hosts)) => (user, hosts),
        None => ("", authority),
    };
    if user.contains(':') {
        return Err(NO_PASSWORD.to_owned());
    }
    let (host, port) = host_and_port(hosts)?;
    let given = |text: &str| -> Result<Option<String>, String> {
        Ok(Some(decoded(text)?).filter(|text| !text.is_empty()))
    };
    let mut asked = Asked {
        host: given(host)?,
        port,
        user: given(user)?,
        database: given(database)?,
        ..Asked::default()
    };
    for pair in query.split('&').filter(|pair| !pair.is_empty()) {
        let (key, value) = pair.split_once('=').unwrap_or((pair, ""));
        if key == "password" {
            return Err(NO_PASSWORD.to_owned());
        }
        if !asked.set(key, decoded(value)?)? {
            return Err(format!(
                "the URL's `{}` is not known here: sslmode, sslrootcert, passfile, service, host, port, user, dbname are",
                linewalk_record::escape::escape_control(key)
            ));
        }
    }
    Ok(asked)
}

fn host_and_port(text: &str) -> Result<(&str, Option<u16>), String> {
    let (host, port) = match text.strip_prefix('[') {
        Some(rest) => {
            let (host, rest) = rest.split_once(']').ok_or("the URL's [ has no ]")?;
            (host, rest.strip_prefix(':'))
        }
        None => text.split_once(':').map_or((text, None), |(host, port)| (host, Some(port))),
    };
    if host.contains(',') {
        return Err("name one host: several in one URL are not known here".to_owned());
    }
    Ok((host, port.filter(|port| !port.is_empty()).map(read_port).transpose()?))
}

fn read_port(text: &str) -> Result<u16, String> {
    text.parse()
        .ok()
        .filter(|port| *port > 0)
        .ok_or_else(|| "the port is a number from 1 to 65535".to_owned())
}

fn decoded(text: &str) -> Result<String, String> {
    let mut bytes = Vec::with_capacity(text.len());
    let mut rest = text.as_bytes();
    while let Some((first, after)) = rest.split_first() {
        let (byte, after) = if *first == b'%' {
            let digits = after.get(..2).and_then(|pair| std::str::from_utf8(pair).ok());
            let byte = digits.and_then(|digits| u8::from_str_radix(digits, 16).ok());
            let byte = byte.ok_or("a % in the URL is not followed by two hexadecimal digits")?;
            (byte, after.get(2..).unwrap_or_default())
        } else {
            (*first, after)
        };
        bytes.push(byte);
        rest = after;
    }
    let text = String::from_utf8(bytes).map_err(|_| "the URL is no text in UTF-8")?;
    if text.chars().any(linewalk_record::escape::needs_escape) {
        return Err("the URL holds signs that are not plain text".to_owned());
    }
    Ok(text)
}

impl Asked {
    /// Takes one setting by its usual name; whether it is known.
    ///
    /// # Errors
    /// Where its value is no such thing.
    pub fn set(&mut self, key: &str, value: String) -> Result<bool, String> {
        match key {
            "host" => self.host = Some(value),
            "port" => self.port = Some(read_port(&value)?),
            "user" => self.user = Some(value),
            "dbname" => self.database = Some(value),
            "sslmode" => self.sslmode = Some(value),
            "sslrootcert" => self.sslrootcert = Some(value),
            "passfile" => self.passfile = Some(value),
            "service" => self.service = Some(value),
            "password" => self.password = Some(Secret::new(value)),
            _ => return Ok(false),
        }
        Ok(true)
    }

    /// Fills what is left out from another source.
    pub fn or(self, other: Self) -> Self {
        Self {
            service: self.service.or(other.service),
            host: self.host.or(other.host),
            port: self.port.or(other.port),
            user: self.user.or(other.user),
            database: self.database.or(other.database),
            sslmode: self.sslmode.or(other.sslmode),
            sslrootcert: self.sslrootcert.or(other.sslrootcert),
            passfile: self.passfile.or(other.passfile),
            password: self.password.or(other.password),
        }
    }

    /// Everything that is needed to connect. `plain` says that a connection without TLS to another machine is
    /// wanted.
    ///
    /// # Errors
    /// What is missing, or why the protection asked for is refused.
    pub fn settle(&self, plain: bool) -> Result<Address, String> {
        let host = self.host.clone().unwrap_or_else(|| "localhost".to_owned());
        let here = is_here(&host);
        let tls = match self.sslmode.as_deref() {
            None if here => Tls::Plain,
            None | Some("verify-full" | "require" | "verify-ca") => Tls::Verified,
            Some("disable") if here || plain => Tls::Plain,
            Some("disable") => {
                return Err(format!(
                    "sslmode=disable would send every record readable through the network to {host}: leave it out, or \
                     say --plain as well where that network is yours alone"
                ));
            }
            Some("prefer" | "allow") => {
                return Err(
                    "sslmode=prefer and allow may end up without protection: leave it out for TLS, or say disable"
                        .to_owned(),
                );
            }
            Some(other) => {
                return Err(format!(
                    "sslmode {} is not known: verify-full or disable",
                    linewalk_record::escape::escape_control(other)
                ));
            }
        };
        if tls == Tls::Verified && host.starts_with('/') {
            return Err("a socket on this machine has no TLS: leave sslmode out".to_owned());
        }
        let user = self.user.clone().ok_or("the URL names no login: postgresql://LOGIN@host/database")?;
        Ok(Address {
            host,
            port: self.port.unwrap_or(5432),
            database: self.database.clone().unwrap_or_else(|| user.clone()),
            user,
            tls,
            sslrootcert: self.sslrootcert.clone(),
        })
    }
}

/// Whether a host is this machine: a socket, `localhost`, or a loopback address.
fn is_here(host: &str) -> bool {
    host.starts_with('/')
        || host.eq_ignore_ascii_case("localhost")
        || host.parse::<std::net::IpAddr>().is_ok_and(|address| address.is_loopback())
}
