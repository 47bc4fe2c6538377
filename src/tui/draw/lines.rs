//! Lines of text with a label before them, wrapped to the width at hand.

use ratatui::text::{Line, Span};

use super::super::text::{column, inert, wrap};
use super::super::theme::{Theme, Tone};

/// Columns of a label.
const LABEL: usize = 10;

/// Lines being laid.
pub struct Lines {
    /// The colours.
    pub theme: Theme,
    /// Columns.
    pub width: usize,
    /// The lines so far.
    pub out: Vec<Line<'static>>,
}

impl Lines {
    /// None so far.
    pub fn new(theme: Theme, width: usize) -> Self {
        Self { theme, width, out: Vec::new() }
    }

    /// A span of a tone; its text is made inert.
    pub fn span(&self, tone: Tone, text: &str) -> Span<'static> {
        Span::styled(inert(text), self.theme.style(tone))
    }

    /// A line of spans.
    pub fn line(&mut self, spans: Vec<Span<'static>>) {
        self.out.push(Line::from(spans));
    }

    /// An empty line.
    pub fn blank(&mut self) {
        self.out.push(Line::default());
    }

    /// Text over as many lines as it takes.
    pub fn text(&mut self, tone: Tone, text: &str) {
        self.indented(0, tone, text);
    }

    /// A line whose spaces stay as they are.
    pub fn text_as_is(&mut self, tone: Tone, text: &str) {
        let span = self.span(tone, text);
        self.line(vec![span]);
    }

    /// Text behind an indent.
    pub fn indented(&mut self, indent: usize, tone: Tone, text: &str) {
        for line in wrap(&inert(text), self.width.saturating_sub(indent)) {
            let span = Span::styled(line, self.theme.style(tone));
            self.out.push(Line::from(vec![Span::raw(" ".repeat(indent)), span]));
        }
    }

    /// A sentence that is read first: on a bar of its own.
    pub fn banner(&mut self, text: &str) {
        for line in wrap(&inert(text), self.width.saturating_sub(2)) {
            let text = column(&format!(" {line}"), self.width);
            self.out.push(Line::from(Span::styled(text, self.theme.style(Tone::Bar))));
        }
    }

    /// A label and its text; nothing where the text is empty.
    pub fn pair(&mut self, label: &str, tone: Tone, text: &str) {
        if text.is_empty() {
            return;
        }
        for (at, line) in wrap(&inert(text), self.width.saturating_sub(LABEL)).into_iter().enumerate() {
            let label = column(if at == 0 { label } else { "" }, LABEL);
            let label =
                Span::styled(label, self.theme.style(if tone == Tone::Stop { tone } else { Tone::Dim }));
            self.out.push(Line::from(vec![label, Span::styled(line, self.theme.style(tone))]));
        }
    }

    /// A row of a list; the chosen one has a mark and the bar over its whole width.
    pub fn row(&mut self, chosen: bool, tone: Tone, text: &str) {
        let mark = if chosen { "> " } else { "  " };
        let text = column(&format!("{mark}{}", inert(text)), self.width);
        let tone = if chosen { Tone::Bar } else { tone };
        self.out.push(Line::from(Span::styled(text, self.theme.style(tone))));
    }
}
