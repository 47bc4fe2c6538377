//! Passwords from where PostgreSQL users keep them: the password file and the service file, as text.

use std::fmt;

use crate::address::{Address, Asked};

/// A password. Never shown.
#[derive(Clone, PartialEq, Eq)]
pub struct Secret(String);

impl Secret {
    /// Takes one.
    pub fn new(text: String) -> Self {
        Self(text)
    }

    /// The password itself, for the connection alone.
    pub fn reveal(&self) -> &str {
        &self.0
    }
}

impl fmt::Debug for Secret {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "Secret(…)")
    }
}

/// The password for an address in a password file: lines of host, port, database, login and password with
/// colons between, `*` for any, a backslash before a colon or backslash that is meant; the first that fits.
pub fn in_passfile(text: &str, address: &Address) -> Option<Secret> {
    let host = if address.host.starts_with('/') { "localhost" } else { address.host.as_str() };
    let port = address.port.to_string();
    let wanted = [host, port.as_str(), address.database.as_str(), address.user.as_str()];
    text.lines().filter(|line| !line.starts_with('#')).find_map(|line| {
        let mut fields = fields(line).into_iter();
        let fits = wanted.iter().all(|wanted| {
            fields.next().is_some_and(|(field, escaped)| (field == "*" && !escaped) || field == *wanted)
        });
        let (password, _) = fields.next().filter(|_| fits)?;
        Some(Secret(password))
    })
}

/// The fields of a line, and whether any of it was escaped. The last one holds the rest.
fn fields(line: &str) -> Vec<(String, bool)> {
    let mut fields = vec![(String::new(), false)];
    let mut signs = line.chars();
    while let Some(sign) = signs.next() {
        let count = fields.len();
        let Some((field, escaped)) = fields.last_mut() else { break };
        match sign {
            '\\' => {
                field.extend(signs.next());
                *escaped = true;
            }
            ':' if count < 5 => fields.push((String::new(), false)),
            _ => field.push(sign),
        }
    }
    fields
}

/// A section of a service file: `[name]`, then `key=value` a line. Keys that are of no use here are passed over.
///
/// # Errors
/// A value that is no such thing.
pub fn in_service_file(text: &str, name: &str) -> Result<Option<Asked>, String> {
    let heading = format!("[{name}]");
    let mut lines = text.lines().map(str::trim);
    if !lines.by_ref().any(|line| line == heading) {
        return Ok(None);
    }
    let mut asked = Asked::default();
    for line in lines.take_while(|line| !line.starts_with('[')) {
        if let Some((key, value)) = line.split_once('=').filter(|_| !line.starts_with('#')) {
            asked.set(key.trim(), value.trim().to_owned())?;
        }
    }
    asked.service = None;
    Ok(Some(asked))
}
