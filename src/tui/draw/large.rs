//! Letters three rows high, for a code that is read from a step away; and plain signs for a terminal that has no others.

use ratatui::buffer::Buffer;

use super::super::picture::Grain;

/// A letter in three columns and five rows, one octal digit a row from the top; the left column counts four.
#[rustfmt::skip]
const LETTERS: &[(char, u16)] = &[
    ('A', 0o25755), ('B', 0o65656), ('C', 0o34443), ('D', 0o65556), ('E', 0o74647), ('F', 0o74644), ('G', 0o34553),
    ('H', 0o55755), ('I', 0o72227), ('J', 0o11152), ('K', 0o55655), ('L', 0o44447), ('M', 0o57755), ('N', 0o65555),
    ('O', 0o25552), ('P', 0o65644), ('Q', 0o25563), ('R', 0o65655), ('S', 0o34216), ('T', 0o72222), ('U', 0o55557),
    ('V', 0o55552), ('W', 0o55775), ('X', 0o55255), ('Y', 0o55222), ('Z', 0o71247),
    ('0', 0o75557), ('1', 0o26227), ('2', 0o61247), ('3', 0o61216), ('4', 0o55711), ('5', 0o74616), ('6', 0o34757),
    ('7', 0o71122), ('8', 0o75757), ('9', 0o75716),
    ('.', 0o00002), (',', 0o00024), ('-', 0o00700), ('\'', 0o22000), ('/', 0o11244), ('(', 0o12221), (')', 0o42224),
    (':', 0o02020), (';', 0o02024), ('?', 0o61202), ('+', 0o02720), ('=', 0o07070), ('"', 0o55000), ('%', 0o51245),
    (' ', 0),
];

/// Columns of a letter with the gap after it.
const WIDE: usize = 4;
/// Rows of pixels with the gap below.
const HIGH: usize = 6;

/// Whether a pixel of a letter is set; nothing where the letter is not known.
fn pixel(c: char, x: usize, y: usize) -> Option<bool> {
    let upper = c.to_ascii_uppercase();
    let (_, bits) = LETTERS.iter().find(|(known, _)| *known == upper)?;
    if x >= 3 || y >= 5 {
        return Some(false);
    }
    Some(bits >> ((4 - y) * 3 + (2 - x)) & 1 == 1)
}

/// A line of text, each pixel half a cell high.
fn line(text: &str) -> Option<Vec<String>> {
    let mut out = vec![String::new(); HIGH / 2];
    for c in text.chars() {
        for x in 0..WIDE {
            for (row, out) in out.iter_mut().enumerate() {
                out.push(match (pixel(c, x, row * 2)?, pixel(c, x, row * 2 + 1)?) {
                    (true, true) => '█',
                    (true, false) => '▀',
                    (false, true) => '▄',
                    (false, false) => ' ',
                });
            }
        }
    }
    Some(out)
}

/// A code of digits three rows high.
pub fn code(text: &str, grain: Grain) -> [String; 3] {
    let drawn = if grain == Grain::Ascii { None } else { line(text) };
    match drawn.as_deref() {
        Some([a, b, c]) => [a.clone(), b.clone(), c.clone()],
        _ => strokes(text),
    }
}

/// Digits of strokes, for a terminal that has no blocks.
fn strokes(text: &str) -> [String; 3] {
    /// Top; upper left, middle, upper right; lower left, bottom, lower right.
    const DIGITS: [&str; 10] = [
        " _ | ||_|",
        "     |  |",
        " _  _||_ ",
        " _  _| _|",
        "   |_|  |",
        " _ |_  _|",
        " _ |_ |_|",
        " _   |  |",
        " _ |_||_|",
        " _ |_| _|",
    ];
    let mut rows = [String::new(), String::new(), String::new()];
    for c in text.chars() {
        let digit = c.to_digit(10).and_then(|digit| DIGITS.get(usize::try_from(digit).ok()?));
        for (at, row) in rows.iter_mut().enumerate() {
            row.push_str(digit.and_then(|digit| digit.get(at * 3..at * 3 + 3)).unwrap_or("  "));
            row.push(' ');
        }
    }
    rows
}

/// Every sign that is not ASCII in its nearest plain one.
pub fn plainly(buffer: &mut Buffer) {
    for cell in &mut buffer.content {
        let sign = cell.symbol();
        if sign.is_ascii() {
            continue;
        }
        let plain = match sign {
            "—" | "–" | "−" => "-",
            "·" | "│" => "|",
            "×" => "x",
            "…" => "~",
            "°" => "d",
            "“" | "”" => "\"",
            "’" | "‘" => "'",
            "²" => "2",
            "³" => "3",
            "µ" | "μ" => "u",
            _ => "?",
        };
        cell.set_symbol(plain);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_letter_stands_as_it_is_drawn() {
        assert_eq!(line("L1").unwrap(), ["█   ▄█  ", "█    █  ", "▀▀▀ ▀▀▀ "]);
    }

    #[test]
    fn every_letter_differs_from_every_other() {
        for (at, (c, bits)) in LETTERS.iter().enumerate() {
            assert!(LETTERS[..at].iter().all(|(_, other)| other != bits), "{c}");
        }
    }
}
