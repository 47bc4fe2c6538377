//! Where a value or a formula comes from, and how far the source was seen.

/// How well a value is supported. The word is printed wherever the value is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Basis {
    /// Read in the document itself or in a faithful reprint.
    Published,
    /// Worked out in this project from a textbook formula.
    Computed,
    /// Recalled, or seen only in a quotation.
    FromMemory,
    /// A rule of the trade that no document states.
    CommonPractice,
}

impl Basis {
    /// The word that travels to screens and reports.
    pub fn word(self) -> &'static str {
        match self {
            Self::Published => "published",
            Self::Computed => "computed",
            Self::FromMemory => "from memory",
            Self::CommonPractice => "common practice, no source",
        }
    }
}

/// One source: a document, the place in it and how far it was seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cite {
    /// Title or number of the document.
    pub document: &'static str,
    /// Clause, table or example; empty where the whole document is meant.
    pub clause: &'static str,
    /// How well it supports the value.
    pub basis: Basis,
}

impl Cite {
    /// A source with its clause.
    pub const fn new(document: &'static str, clause: &'static str, basis: Basis) -> Self {
        Self { document, clause, basis }
    }
}

impl std::fmt::Display for Cite {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if self.document.is_empty() {
            return f.write_str(self.basis.word());
        }
        f.write_str(self.document)?;
        if !self.clause.is_empty() {
            write!(f, ", {}", self.clause)?;
        }
        write!(f, " ({})", self.basis.word())
    }
}
