//! Goes through the lines of one log and its head, and finds what does not hold.

use std::io::{self, BufRead, BufReader, Read};
use std::num::NonZeroUsize;
use std::ops::Range;
use std::thread;

use crate::entry::Kept;
use crate::logbook::hash::Hex;
use crate::logbook::head::{Head, HeadFile};
use crate::logbook::names;
use crate::logbook::problem::{Fault, Problem};
use crate::logbook::record::{self, Line, MAX_LINE, Record, RecordError};
use crate::logbook::storage::LARGEST;

/// After so many bytes without an end of line the rest is not read: this was never a log, or its end is lost.
const ENDLESS: u64 = 16 * MAX_LINE as u64;

/// After so many lines in a row that are no records the rest is not read either.
const NO_RECORDS: u64 = 100_000;

/// Problems of one log that are named one by one; of the others only the last is.
const NAMED: usize = 1000;

/// Where a log ends and what was found on the way.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Scan {
    /// All that was found, in the order of the lines; the head's last.
    pub problems: Vec<Problem>,
    /// The place of the last whole line.
    pub seq: u64,
    /// The hash of the last whole line.
    pub hash: Hex,
    /// The checksum of the last record, where the last whole line is one.
    pub sum: Option<Hex>,
    /// Records that could be read.
    pub records: u64,
    /// Where the unfinished end begins, if there is one.
    pub torn: Option<u64>,
    /// Whether the head names the last record.
    pub head_fits: bool,
    /// The first record that no head vouches for; those after it are none either.
    pub past: Option<u64>,
}

/// Reads a log through and hands on every record that can be read.
pub(super) fn scan(
    writer: &str,
    log: Option<Box<dyn Read + '_>>,
    head: &HeadFile,
    keep: &mut dyn FnMut(Kept),
) -> io::Result<Scan> {
    let mut state = State::new(writer, head);
    let mut lines = Lines { input: BufReader::with_capacity(1 << 18, log.unwrap_or(Box::new(io::empty()))) };
    let mut batch = Batch::default();
    'file: while batch.fill(&mut lines)? {
        for (piece, line) in batch.pieces.iter().zip(batch.read()) {
            state.line(piece, line, keep);
            if state.reads_no_further(piece.endless) {
                break 'file;
            }
        }
    }
    Ok(state.finish(head))
}

/// Bytes that are read from the file before their lines are made records.
const BATCH: usize = 4 << 20;
/// Lines at most, however short they are.
const LINES: usize = 64 << 10;
/// Fewer bytes than this are not worth a second thread.
const WORTH_A_THREAD: usize = 256 << 10;
/// Threads at most.
const THREADS: usize = 4;

/// Some lines of the log, one after the other. Hashing and parsing a line, nearly all of the work, needs no other line;
/// so the lines of a batch are shared out over the cores, and only the chain is followed in order.
#[derive(Default)]
struct Batch {
    bytes: Vec<u8>,
    pieces: Vec<Piece>,
}

impl Batch {
    /// Takes in the next lines; false at the end of the file.
    fn fill<R: BufRead>(&mut self, lines: &mut Lines<R>) -> io::Result<bool> {
        self.bytes.clear();
        self.pieces.clear();
        while self.bytes.len() < BATCH
            && self.pieces.len() < LINES
            && self.pieces.last().is_none_or(|last| !last.endless)
            && let Some(piece) = lines.next(&mut self.bytes)?
        {
            self.pieces.push(piece);
        }
        Ok(!self.pieces.is_empty())
    }

    /// Its lines, each with its hash and as a record.
    fn read(&self) -> Vec<Line> {
        let cores = thread::available_parallelism().map_or(1, NonZeroUsize::get).min(THREADS);
        let threads = if self.bytes.len() < WORTH_A_THREAD { 1 } else { cores };
        let (first, others) = self.pieces.split_at(self.pieces.len() / threads);
        let read = |pieces: &[Piece]| pieces.iter().map(|piece| self.line(piece)).collect::<Vec<_>>();
        if threads == 1 {
            return read(&self.pieces);
        }
        thread::scope(|scope| {
            let share = others.len().div_ceil(threads - 1).max(1);
            let others: Vec<_> =
                others.chunks(share).map(|pieces| (pieces, scope.spawn(move || read(pieces)))).collect();
            let mut lines = read(first);
            for (pieces, other) in others {
                // A thread that could not finish leaves its lines to this one.
                lines.extend(other.join().unwrap_or_else(|_| read(pieces)));
            }
            lines
        })
    }

    fn line(&self, piece: &Piece) -> Line {
        if piece.too_long {
            return Line { hash: Hex::ZEROS, record: Err(RecordError::TooLong) };
        }
        if !piece.whole {
            return Line { hash: Hex::ZEROS, record: Err(RecordError::Shape("end of line")) };
        }
        record::read(self.bytes.get(piece.text.clone()).unwrap_or_default())
    }
}

/// What came out of the file: a line or an unfinished end.
struct Piece {
    /// Where it stands in the batch, without its end of line; of one that is too long, only the beginning.
    text: Range<usize>,
    /// Length with the end of line.
    length: u64,
    whole: bool,
    too_long: bool,
    /// Not read to its end: it is far longer than anything ever written.
    endless: bool,
}

struct Lines<R> {
    input: R,
}

impl<R: BufRead> Lines<R> {
    /// Puts the next line behind what the buffer holds.
    fn next(&mut self, buffer: &mut Vec<u8>) -> io::Result<Option<Piece>> {
        let start = buffer.len();
        let most = MAX_LINE as u64 + 1;
        let mut length = self.input.by_ref().take(most).read_until(b'\n', buffer)? as u64;
        if length == 0 {
            return Ok(None);
        }
        let mut whole = buffer.last() == Some(&b'\n');
        if whole {
            buffer.pop();
        }
        let too_long = !whole && length == most;
        let mut rest = Vec::new();
        let mut endless = false;
        while too_long && !whole {
            rest.clear();
            if length > ENDLESS {
                endless = true;
                break;
            }
            let more = self.input.by_ref().take(most).read_until(b'\n', &mut rest)? as u64;
            whole = rest.last() == Some(&b'\n');
            length += more;
            if more == 0 {
                break;
            }
        }
        Ok(Some(Piece { text: start..buffer.len(), length, whole, too_long, endless }))
    }
}

/// What is remembered of a line until the next ones, or the head, are known.
#[derive(Clone, Copy)]
struct Passed {
    hash: Hex,
    /// Its checksum, where it is a record.
    sum: Option<Hex>,
}

struct State<'a> {
    writer: &'a str,
    file: String,
    line: u64,
    /// Where the next line begins, and where the last one did.
    offset: u64,
    last_start: u64,
    /// The place of the last line; a line that is no record is taken to have been the next one.
    seq: u64,
    records: u64,
    last: Passed,
    before: Passed,
    torn: Option<u64>,
    /// A foreign writer that was already reported.
    foreign: Option<String>,
    problems: Vec<Problem>,
    /// Problems that are only counted.
    unnamed: u64,
    /// Lines in a row that are no records.
    bad_lines: u64,
    /// The place that the head names, and the checksum of the record there.
    named: Option<u64>,
    at_head: Option<Hex>,
}

impl<'a> State<'a> {
    fn new(writer: &'a str, head: &HeadFile) -> Self {
        let named = match head {
            HeadFile::Known(head) => Some(head.seq),
            HeadFile::Absent | HeadFile::Unreadable => None,
        };
        let none = Passed { hash: Hex::ZEROS, sum: None };
        Self {
            writer,
            file: names::log(writer),
            line: 0,
            offset: 0,
            last_start: 0,
            seq: 0,
            records: 0,
            last: none,
            before: none,
            torn: None,
            foreign: None,
            problems: Vec::new(),
            unnamed: 0,
            bad_lines: 0,
            named,
            at_head: None,
        }
    }

    fn say(&mut self, fault: Fault) {
        if self.problems.len() > NAMED {
            self.problems.pop();
            self.unnamed += 1;
        }
        self.problems.push(Problem { file: self.file.clone(), line: Some(self.line), fault });
    }

    /// Whether the rest is left: whatever stands in the file, reading it takes bounded time and memory.
    fn reads_no_further(&mut self, endless: bool) -> bool {
        let stops = endless || self.bad_lines > NO_RECORDS || self.offset > LARGEST;
        if stops {
            self.say(Fault::NotReadOn { bytes: self.offset });
        }
        stops
    }

    fn line(&mut self, piece: &Piece, line: Line, keep: &mut dyn FnMut(Kept)) {
        self.line += 1;
        // An unfinished record is never longer than a record may be.
        if !piece.whole && !piece.too_long {
            self.torn = Some(self.offset);
            self.say(Fault::Torn { bytes: piece.length });
            return;
        }
        self.last_start = self.offset;
        self.offset += piece.length;
        self.before = self.last;
        let Line { hash, record } = line;
        match record {
            Ok(record) => {
                self.bad_lines = 0;
                self.last = Passed { hash, sum: Some(record.sum) };
                self.record(record, keep);
            }
            Err(error) => {
                self.bad_lines += 1;
                self.last = Passed { hash, sum: None };
                self.seq = self.seq.saturating_add(1);
                self.say(Fault::Bad(error));
            }
        }
    }

    fn record(&mut self, record: Record, keep: &mut dyn FnMut(Kept)) {
        let Record { kept, prev, sum } = record;
        if self.named == Some(kept.seq) {
            self.at_head = Some(sum);
        }
        let expected = self.seq.saturating_add(1);
        if kept.seq > expected {
            self.say(Fault::Gap { from: expected, to: kept.seq - 1 });
        } else if kept.seq < expected {
            self.say(Fault::OutOfPlace { seq: kept.seq, expected });
        } else if prev != self.before.hash && (self.line == 1 || self.before.sum.is_some()) {
            // After a line that is no record the chain cannot hold; that line is reported already.
            self.say(Fault::Chain);
        }
        self.seq = self.seq.max(kept.seq);
        if kept.writer == self.writer {
            self.foreign = None;
        } else if self.foreign.as_ref() != Some(&kept.writer) {
            self.foreign = Some(kept.writer.clone());
            self.say(Fault::Writer(kept.writer.clone()));
        }
        self.records += 1;
        keep(kept);
    }

    fn finish(mut self, head: &HeadFile) -> Scan {
        self.unfinished_line(head);
        let (fault, head_fits) = self.judge(head);
        let past = fault.as_ref().and_then(|fault| self.past(fault));
        if let Some(fault) = fault {
            let file = if matches!(fault, Fault::RecordsMissing { .. }) {
                self.file
            } else {
                names::head(self.writer)
            };
            self.problems.push(Problem { file, line: None, fault });
        }
        if self.unnamed > 0 {
            let fault = Fault::Unnamed { count: self.unnamed };
            self.problems.insert(NAMED, Problem { file: names::log(self.writer), line: None, fault });
        }
        Scan {
            problems: self.problems,
            seq: self.seq,
            hash: self.last.hash,
            sum: self.last.sum,
            records: self.records,
            torn: self.torn,
            head_fits,
            past,
        }
    }

    /// From which record on nothing vouches for what stands here.
    fn past(&self, fault: &Fault) -> Option<u64> {
        match fault {
            Fault::Unconfirmed { from, .. } => Some(*from),
            // The record named is another one than was kept, and it names those before it by their hash.
            Fault::HeadDiffers { .. } | Fault::HeadUnreadable if self.records > 0 => Some(1),
            _ => None,
        }
    }

    /// A disk may keep the end of a record and not its middle. Such a last line has its end of line and is
    /// no record; when the head names the record before it, it was never kept, and counts as torn.
    fn unfinished_line(&mut self, head: &HeadFile) {
        if self.line == 0 || self.torn.is_some() || self.last.sum.is_some() {
            return;
        }
        let never_kept = match head {
            HeadFile::Known(head) if *head == Head::EMPTY => self.line == 1,
            HeadFile::Known(head) => self.before.sum == Some(head.sum) && self.seq == head.seq + 1,
            HeadFile::Absent => self.line == 1,
            HeadFile::Unreadable => false,
        };
        // Neither a newer program's record nor a line that was never one is the work of a crash.
        let foreign = matches!(
            self.problems.last(),
            Some(Problem { fault: Fault::Bad(RecordError::Newer(_) | RecordError::TooLong), .. })
                | Some(Problem { fault: Fault::NotReadOn { .. }, .. })
        );
        if never_kept && !foreign {
            self.problems.pop();
            self.say(Fault::Torn { bytes: self.offset - self.last_start });
            self.torn = Some(self.last_start);
            self.seq -= 1;
            self.last = self.before;
        }
    }

    /// What is wrong between head and log, and whether the head names the last record.
    fn judge(&self, head: &HeadFile) -> (Option<Fault>, bool) {
        let head = match head {
            HeadFile::Absent => return self.without_head(),
            HeadFile::Unreadable => return (Some(Fault::HeadUnreadable), false),
            HeadFile::Known(head) => *head,
        };
        let last = self.seq;
        if head.seq > last {
            return (Some(Fault::RecordsMissing { from: last + 1, to: head.seq }), false);
        }
        if head.seq == last {
            // When the last line is no record, that is reported already.
            let fits = if last == 0 { head == Head::EMPTY } else { self.last.sum == Some(head.sum) };
            let differs = !fits && self.last.sum.is_some();
            return (differs.then_some(Fault::HeadDiffers { seq: head.seq }), fits);
        }
        let fault = if head == Head::EMPTY || self.at_head == Some(head.sum) {
            Fault::Unconfirmed { from: head.seq + 1, to: last, head: true }
        } else {
            Fault::HeadDiffers { seq: head.seq }
        };
        (Some(fault), false)
    }

    fn without_head(&self) -> (Option<Fault>, bool) {
        match self.seq {
            0 => (None, false),
            last => (Some(Fault::Unconfirmed { from: 1, to: last, head: false }), false),
        }
    }
}
