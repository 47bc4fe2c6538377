//! Records that no head vouched for: whoever can write a file could have put them in. What they find counts; what they would
//! close, take back, sign or end does not, until a person confirms them.

use super::entry::{Entry, Kept};

/// Records of one writer, the last with this checksum.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Past {
    /// Whose.
    pub writer: String,
    /// The first.
    pub from: u64,
    /// The last.
    pub to: u64,
    /// Checksum of the last.
    pub sum: String,
}

impl Past {
    fn holds(&self, writer: &str, seq: u64) -> bool {
        self.writer == writer && (self.from..=self.to).contains(&seq)
    }
}

/// What is not confirmed of a car's record.
#[derive(Clone, Debug, Default)]
pub(super) struct Doubts {
    all: Vec<Past>,
    /// What was confirmed, and by which record.
    confirmed: Vec<(Past, String, u64)>,
    open: Vec<Past>,
}

impl Doubts {
    /// Takes in what the head file shows.
    pub fn add(&mut self, past: impl IntoIterator<Item = Past>) {
        for one in past {
            if !self.all.contains(&one) {
                self.all.push(one);
            }
        }
        self.settle();
    }

    /// Takes in what a record says of others.
    pub fn take(&mut self, kept: &Kept) {
        match &kept.entry {
            Entry::Unconfirmed { from, to, last } => {
                let (writer, sum) = (kept.writer.clone(), last.clone());
                self.all.push(Past { writer, from: *from, to: *to, sum });
            }
            Entry::Confirmed { log, from, to, last, .. } if same_machine(log, &kept.writer) => {
                let past = Past { writer: log.clone(), from: *from, to: *to, sum: last.clone() };
                self.confirmed.push((past, kept.writer.clone(), kept.seq));
            }
            _ => return,
        }
        self.settle();
    }

    /// What a record confirms counts only where the record itself needs no confirming.
    fn settle(&mut self) {
        let mut open = self.all.clone();
        loop {
            let before = open.len();
            for (past, writer, seq) in &self.confirmed {
                if !open.iter().any(|open| open.holds(writer, *seq)) {
                    open.retain(|open| open != past);
                }
            }
            if open.len() == before {
                break;
            }
        }
        self.open = open;
    }

    /// Whether nobody vouches for a record.
    pub fn covers(&self, kept: &Kept) -> bool {
        self.open.iter().any(|past| past.holds(&kept.writer, kept.seq))
    }

    /// All that is to be confirmed.
    pub fn open(&self) -> &[Past] {
        &self.open
    }

    /// All that was ever to be confirmed, as the head files show it: what records say comes with them.
    pub fn shown_by_heads(&self) -> Vec<Past> {
        self.all.clone()
    }
}

/// Whether two writers are one machine: it takes another id, with a number behind, where its own log is damaged.
fn same_machine(one: &str, other: &str) -> bool {
    let base = |id: &str| match id.rsplit_once('-') {
        Some((base, count)) if count.len() == 1 && count.bytes().all(|digit| digit.is_ascii_digit()) => {
            base.to_owned()
        }
        _ => id.to_owned(),
    };
    base(one) == base(other)
}
