//! One record to one line of bytes, and back.
//!
//! A line is compact JSON with its keys in a fixed order. Hashes are taken over the bytes as they stand in
//! the file: a record that is parsed and written again need not give the same bytes.

use chrono::{DateTime, Offset, SecondsFormat, Utc};

use crate::entry::{Entry, Kept, Moment};
use crate::escape::escape_control;
use crate::logbook::format1;
use crate::logbook::hash::Hex;
use crate::logbook::keys;

/// The format this program writes. It reads every one before it.
pub const FORMAT: u64 = 2;

/// The longest line in bytes, without its end of line.
pub const MAX_LINE: usize = 1 << 20;

/// `,"sum":"` + digits + `"}`.
const SUM_KEY: &[u8] = b",\"sum\":\"";
const SUM_TAIL: usize = SUM_KEY.len() + 64 + 2;

/// Why a line is no record, or an entry cannot become one.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum RecordError {
    /// Its format is newer than this program.
    #[error(
        "it says format {0} and this program knows format {FORMAT}: written by a newer program, or changed"
    )]
    Newer(u64),
    /// Longer than [`MAX_LINE`].
    #[error("it is longer than {MAX_LINE} bytes")]
    TooLong,
    /// Not laid out as a record; the word says where reading stopped.
    #[error("it is not laid out as a record (at: {0})")]
    Shape(&'static str),
    /// Its checksum does not fit its bytes.
    #[error("its checksum does not fit: it was changed after it was written")]
    Sum,
    /// A key given twice, or one that may not stand in a payload.
    #[error("the key `{}` stands twice or may not stand there", escape_control(.0))]
    Key(String),
    /// A number that is not finite, or `null` in its place.
    #[error("a number in it is not a finite number")]
    Null,
    /// The payload cannot be read; the parser's words.
    #[error("what it says cannot be read: {}", escape_control(.0))]
    Payload(String),
    /// The time cannot be read or written.
    #[error("`{}` is no time with an offset", escape_control(.0))]
    Time(String),
    /// An id or writer with signs that may not stand in one.
    #[error("`{}` may not be an id", escape_control(.0))]
    Id(String),
}

/// A record with its links.
#[derive(Clone, Debug, PartialEq)]
pub struct Record {
    /// The record.
    pub kept: Kept,
    /// The hash it gives for the line before.
    pub prev: Hex,
    /// Its own checksum.
    pub sum: Hex,
}

/// A line as it was read: its hash, whatever it holds, and the record if it is one.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// The hash of its bytes without the end of line.
    pub hash: Hex,
    /// The record, or why it is none.
    pub record: Result<Record, RecordError>,
}

/// A line ready to be appended.
#[derive(Clone, Debug, PartialEq)]
pub struct Written {
    /// Its bytes with the end of line.
    pub bytes: Vec<u8>,
    /// The record as it will read back: the time is cut to milliseconds.
    pub record: Record,
    /// The hash of its bytes without the end of line.
    pub hash: Hex,
}

/// Reads a line without its end of line.
pub fn read(line: &[u8]) -> Line {
    let split = line.len().saturating_sub(SUM_TAIL);
    let (body, tail) = line.split_at(split);
    let (sum, hash) = Hex::of_both(body, tail);
    Line { hash, record: read_hashed(line, body, tail, sum) }
}

/// The checksum a line gives for itself, when it ends like a record.
pub fn sum_of(line: &[u8]) -> Option<Hex> {
    let tail = line.get(line.len().checked_sub(SUM_TAIL)?..)?;
    Hex::read(tail.strip_prefix(SUM_KEY)?.strip_suffix(b"\"}")?)
}

fn read_hashed(line: &[u8], body: &[u8], tail: &[u8], sum: Hex) -> Result<Record, RecordError> {
    if line.len() > MAX_LINE {
        return Err(RecordError::TooLong);
    }
    let mut cursor = Cursor(body);
    cursor.pass("format", "{\"format\":")?;
    let format = cursor.number("format")?;
    if !(1..=FORMAT).contains(&format) {
        return Err(if format > FORMAT { RecordError::Newer(format) } else { RecordError::Shape("format") });
    }
    let given = tail.strip_prefix(SUM_KEY).and_then(|rest| rest.strip_suffix(b"\"}"));
    if given.ok_or(RecordError::Shape("sum"))? != sum.bytes() {
        return Err(RecordError::Sum);
    }
    cursor.pass("id", ",\"id\":\"")?;
    let id = cursor.text("id")?.to_owned();
    cursor.pass("writer", ",\"writer\":\"")?;
    let writer = cursor.text("writer")?.to_owned();
    cursor.pass("seq", ",\"seq\":")?;
    let seq = cursor.number("seq")?;
    cursor.pass("prev", ",\"prev\":\"")?;
    let prev = Hex::read(cursor.text("prev")?.as_bytes()).ok_or(RecordError::Shape("prev"))?;
    cursor.pass("at", ",\"at\":\"")?;
    let at = read_time(cursor.text("at")?)?;
    cursor.pass("kind", ",")?;
    let entry = read_entry(cursor.0)?;
    let entry = if format == 1 { format1::upgraded(entry) } else { entry };
    Ok(Record { kept: Kept { id, writer, seq, at, entry }, prev, sum })
}

fn read_time(text: &str) -> Result<Moment, RecordError> {
    DateTime::parse_from_rfc3339(text).map_err(|_| RecordError::Time(text.to_owned()))
}

fn read_entry(members: &[u8]) -> Result<Entry, RecordError> {
    keys::check(members)?;
    let mut cursor = Cursor(members);
    cursor.pass("kind", "\"kind\":\"")?;
    let kind = cursor.text("kind")?;
    let inner = cursor.0.strip_prefix(b",").unwrap_or(cursor.0);
    // The frequent kinds are read straight into their own type: through the tag of the enum, the parser
    // would first keep every value in a table of its own.
    match kind {
        "finding" => parse(inner).map(|finding| Entry::Finding(Box::new(finding))),
        "observation" => parse(inner).map(|observation| Entry::Observation(Box::new(observation))),
        "reading" => parse(inner).map(Entry::Reading),
        "walk-started" => parse(inner).map(Entry::WalkStarted),
        _ => parse(members),
    }
}

fn parse<T: serde::de::DeserializeOwned>(members: &[u8]) -> Result<T, RecordError> {
    let mut object = Vec::with_capacity(members.len() + 2);
    object.push(b'{');
    object.extend_from_slice(members);
    object.push(b'}');
    serde_json::from_slice(&object).map_err(|error| {
        let words = error.to_string();
        // Its line and column would be those of the cut-out, not of the file.
        RecordError::Payload(words.split(" at line ").next().unwrap_or_default().to_owned())
    })
}

/// Makes the line of a record that follows the line with hash `prev`.
///
/// # Errors
/// [`RecordError`] when the record could not be read back as it is: a number that is not finite, a line too
/// long, an id or a time that cannot be written.
pub fn write(kept: Kept, prev: Hex) -> Result<Written, RecordError> {
    let Kept { id, writer, seq, at, entry } = kept;
    for text in [&id, &writer] {
        if text.is_empty() || text.len() > 100 || !text.bytes().all(is_id_byte) {
            return Err(RecordError::Id(text.clone()));
        }
    }
    let object = serde_json::to_string(&entry).map_err(|error| RecordError::Payload(error.to_string()))?;
    let members = object.strip_prefix('{').and_then(|rest| rest.strip_suffix('}'));
    let members = members.ok_or(RecordError::Shape("payload"))?;
    let time = write_time(at);
    let mut line = format!(
        "{{\"format\":{FORMAT},\"id\":\"{id}\",\"writer\":\"{writer}\",\"seq\":{seq},\"prev\":\"{prev}\",\
         \"at\":\"{time}\",{members}"
    );
    let sum = Hex::of(line.as_bytes());
    line.push_str(",\"sum\":\"");
    line.push_str(sum.text());
    line.push_str("\"}");
    // Nothing is written that this program could not read again.
    let Line { hash, record } = read(line.as_bytes());
    let record = record?;
    if record.kept.entry != entry {
        return Err(RecordError::Payload("it would not read back as it was given".to_owned()));
    }
    line.push('\n');
    Ok(Written { bytes: line.into_bytes(), record, hash })
}

fn write_time(at: Moment) -> String {
    // An offset with seconds, as of old local times, cannot be written: the same moment in UTC can.
    let whole_minutes = at.offset().local_minus_utc() % 60 == 0;
    let at = if whole_minutes { at } else { at.with_timezone(&Utc.fix()) };
    at.to_rfc3339_opts(SecondsFormat::Millis, false)
}

fn is_id_byte(byte: u8) -> bool {
    byte.is_ascii_graphic() && byte != b'"' && byte != b'\\'
}

/// What is left of a line to read.
struct Cursor<'a>(&'a [u8]);

impl<'a> Cursor<'a> {
    fn pass(&mut self, place: &'static str, text: &str) -> Result<(), RecordError> {
        self.0 = self.0.strip_prefix(text.as_bytes()).ok_or(RecordError::Shape(place))?;
        Ok(())
    }

    /// Decimal digits without a leading zero.
    fn number(&mut self, place: &'static str) -> Result<u64, RecordError> {
        let end = self.0.iter().position(|byte| !byte.is_ascii_digit()).unwrap_or(self.0.len());
        let (digits, rest) = self.0.split_at(end);
        if digits.len() > 1 && digits.first() == Some(&b'0') {
            return Err(RecordError::Shape(place));
        }
        let text = std::str::from_utf8(digits).map_err(|_| RecordError::Shape(place))?;
        self.0 = rest;
        text.parse().map_err(|_| RecordError::Shape(place))
    }

    /// The rest of a plain string and its closing quote.
    fn text(&mut self, place: &'static str) -> Result<&'a str, RecordError> {
        let end = self.0.iter().position(|byte| !is_id_byte(*byte)).unwrap_or(self.0.len());
        let (text, rest) = self.0.split_at(end);
        self.0 = rest.strip_prefix(b"\"").ok_or(RecordError::Shape(place))?;
        std::str::from_utf8(text).map_err(|_| RecordError::Shape(place))
    }
}
