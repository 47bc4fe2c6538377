//! SHA-256 as the log writes it: sixty-four lower-case hexadecimal digits.

use std::fmt;
use std::io::{self, Read};

use sha2::{Digest, Sha256};

/// A SHA-256 in lower-case hexadecimal.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct Hex([u8; 64]);

impl Hex {
    /// What stands for the line before the first one.
    pub const ZEROS: Self = Self([b'0'; 64]);

    /// The hash of some bytes.
    pub fn of(bytes: &[u8]) -> Self {
        Self::end(Sha256::new_with_prefix(bytes))
    }

    /// The hash of what a reader gives, and how many bytes that is.
    ///
    /// # Errors
    /// Where it cannot be read.
    pub fn of_reader(mut bytes: impl Read) -> io::Result<(Self, u64)> {
        let (mut hasher, mut size, mut block) = (Sha256::new(), 0, vec![0; 64 << 10]);
        loop {
            let read = bytes.read(&mut block)?;
            if read == 0 {
                return Ok((Self::end(hasher), size));
            }
            hasher.update(block.get(..read).unwrap_or_default());
            size += read as u64;
        }
    }

    /// The hashes of a beginning and of the whole, reading the beginning once.
    pub fn of_both(beginning: &[u8], rest: &[u8]) -> (Self, Self) {
        let mut whole = Sha256::new_with_prefix(beginning);
        let part = Self::end(whole.clone());
        whole.update(rest);
        (part, Self::end(whole))
    }

    /// Reads sixty-four lower-case digits; anything else is `None`.
    pub fn read(digits: &[u8]) -> Option<Self> {
        let digits: [u8; 64] = digits.try_into().ok()?;
        digits.iter().all(|digit| matches!(digit, b'0'..=b'9' | b'a'..=b'f')).then_some(Self(digits))
    }

    /// The digits.
    pub fn bytes(&self) -> &[u8; 64] {
        &self.0
    }

    /// The digits as text.
    pub fn text(&self) -> &str {
        // Only ASCII digits are ever put in.
        std::str::from_utf8(&self.0).unwrap_or_default()
    }

    fn end(hasher: Sha256) -> Self {
        const DIGITS: [u8; 16] = *b"0123456789abcdef";
        let digit = |nibble: u8| DIGITS.get(usize::from(nibble)).copied().unwrap_or_default();
        let mut hex = [0_u8; 64];
        for (pair, byte) in hex.chunks_exact_mut(2).zip(hasher.finalize()) {
            pair.copy_from_slice(&[digit(byte >> 4), digit(byte & 15)]);
        }
        Self(hex)
    }
}

impl fmt::Display for Hex {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(self.text())
    }
}

impl fmt::Debug for Hex {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(self.text())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The one-block and two-block messages of FIPS 180-2, appendix B.1 and B.2.
    #[test]
    fn published_digests() {
        let one = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        let two = "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1";
        assert_eq!(Hex::of(b"abc").text(), one);
        let message = b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq";
        assert_eq!(Hex::of(message).text(), two);
        let (_, whole) = Hex::of_both(&message[..20], &message[20..]);
        assert_eq!(whole.text(), two);
        assert_eq!(Hex::of_both(b"abc", b"d").0.text(), one);
    }

    #[test]
    fn only_lower_case_digits_are_read() {
        let text = Hex::of(b"abc").text().to_owned();
        assert!(Hex::read(text.as_bytes()).is_some());
        assert!(Hex::read(text.to_uppercase().as_bytes()).is_none());
        assert!(Hex::read(&text.as_bytes()[1..]).is_none());
    }
}
