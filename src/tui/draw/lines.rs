//! Lines of text with a label before them, wrapped to the width at hand.

use ratatui::text::{Line, Span};

use super::super::text::{column, escape_control, wrap};
use super::super::theme::{Theme, Tone};

/// Columns of a label.
const LABEL: usize = 10;

/// Lines being laid.
pub struct Lines {
    /// The colours.
    pub theme: Theme,
    /// Columns.
    pub width: usize,
    /// Rows that are in sight at once, where that is known.
    pub rows: usize,
    /// The lines so far.
    pub out: Vec<Line<'static>>,
}

impl Lines {
    /// None so far.
    pub fn new(theme: Theme, width: usize) -> Self {
        Self { theme, width, rows: 0, out: Vec::new() }
    }

    /// A span of a tone; its text is made escape_control.
    pub fn span(&self, tone: Tone, text: &str) -> Span<'static> {
        Span::styled(escape_control(text), self.theme.style(tone))
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
        for line in wrap(&escape_control(text), self.width.saturating_sub(indent)) {
            let span = Span::styled(line, self.theme.style(tone));
            self.out.push(Line::from(vec![Span::raw(" ".repeat(indent)), span]));
        }
    }

    /// An empty line where lines stand further apart.
    pub fn gap(&mut self) {
        if self.theme.is_roomy() && self.out.last().is_some_and(|line| line.width() > 0) {
            self.blank();
        }
    }

    /// A label and its text; nothing where the text is empty.
    pub fn pair(&mut self, label: &str, tone: Tone, text: &str) {
        if text.is_empty() {
            return;
        }
        if !label.is_empty() {
            self.gap();
        }
        for (at, line) in
            wrap(&escape_control(text), self.width.saturating_sub(LABEL)).into_iter().enumerate()
        {
            let label = column(if at == 0 { label } else { "" }, LABEL);
            let label =
                Span::styled(label, self.theme.style(if tone == Tone::Stop { tone } else { Tone::Dim }));
            self.out.push(Line::from(vec![label, Span::styled(line, self.theme.style(tone))]));
        }
    }

    /// A row of a list; the chosen one has a mark and the bar over its whole width.
    pub fn row(&mut self, chosen: bool, tone: Tone, text: &str) {
        self.gap();
        let mark = if chosen { "> " } else { "  " };
        let text = column(&format!("{mark}{}", escape_control(text)), self.width);
        let tone = if chosen { Tone::Bar } else { tone };
        self.out.push(Line::from(Span::styled(text, self.theme.style(tone))));
    }
}
