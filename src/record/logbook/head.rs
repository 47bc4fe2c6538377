//! The head: which record was the last one kept, in a file of its own beside the log.

use crate::logbook::hash::Hex;

/// No head is near this many bytes; of a longer file no more is read.
pub const LONGEST_HEAD: u64 = 4096;

/// The place and checksum of the last record kept; place 0 before the first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Head {
    /// Its place in the log, from 1; 0 while there is none.
    pub seq: u64,
    /// Its checksum.
    pub sum: Hex,
}

impl Head {
    /// The head of a log that has no record yet: it stands before the first, so that a log without a head is never a new one.
    pub const EMPTY: Self = Self { seq: 0, sum: Hex::ZEROS };

    /// The bytes of the head file.
    pub fn write(&self) -> Vec<u8> {
        format!("{{\"seq\":{},\"sum\":\"{}\"}}", self.seq, self.sum).into_bytes()
    }

    /// Reads a head file. Only the exact bytes that [`Head::write`] makes are a head, so that no change to
    /// the file can pass.
    pub fn read(bytes: &[u8]) -> Option<Self> {
        let text = std::str::from_utf8(bytes).ok()?;
        let (seq, sum) = text.strip_prefix("{\"seq\":")?.split_once(",\"sum\":\"")?;
        let head = Self { seq: seq.parse().ok()?, sum: Hex::read(sum.strip_suffix("\"}")?.as_bytes())? };
        let fits = head.seq > 0 || head.sum == Hex::ZEROS;
        (fits && head.write() == bytes).then_some(head)
    }
}

/// What was found where a head should be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum HeadFile {
    /// No such file.
    Absent,
    /// A file that is no head.
    Unreadable,
    /// A head.
    Known(Head),
}

impl HeadFile {
    /// Reads what a storage gave for the head file.
    pub fn read(bytes: Option<&[u8]>) -> Self {
        match bytes {
            None => Self::Absent,
            Some(bytes) => Head::read(bytes).map_or(Self::Unreadable, Self::Known),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_its_own_bytes_are_a_head() {
        let head = Head { seq: 17, sum: Hex::of(b"abc") };
        let bytes = head.write();
        assert_eq!(Head::read(&bytes), Some(head));
        for at in 0..bytes.len() {
            for bit in 0..8 {
                let mut changed = bytes.clone();
                changed[at] ^= 1 << bit;
                assert_ne!(Head::read(&changed), Some(head), "byte {at} bit {bit}");
            }
        }
        assert_eq!(Head::read(&[bytes.as_slice(), b"\n"].concat()), None);
        assert_eq!(Head::read(&bytes[1..]), None);
        assert_eq!(Head::read(b"{\"seq\":+7,\"sum\":\"\"}"), None);
    }
}
