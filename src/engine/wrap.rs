//! Text broken into lines of a width, counted in columns of a terminal.

use std::borrow::Cow;

use textwrap::{Options, WordSeparator, WordSplitter, WrapAlgorithm};

/// How every text is broken: at spaces, and inside a word only where the word is wider than a line.
fn options(columns: usize) -> Options<'static> {
    Options::new(columns.max(1))
        .word_separator(WordSeparator::AsciiSpace)
        .word_splitter(WordSplitter::NoHyphenation)
        .wrap_algorithm(WrapAlgorithm::FirstFit)
}

/// Lines no wider than `columns`; an empty text is one empty line.
pub fn wrap(text: &str, columns: usize) -> Vec<String> {
    wrap_set_in(text, columns, "", "")
}

/// As [`wrap`], with what stands before the first line and before the others.
pub fn wrap_set_in(text: &str, columns: usize, first: &str, others: &str) -> Vec<String> {
    let words: Vec<&str> = text.split_whitespace().collect();
    let options = options(columns).initial_indent(first).subsequent_indent(others);
    textwrap::wrap(&words.join(" "), options).into_iter().map(Cow::into_owned).collect()
}
