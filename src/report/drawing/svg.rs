//! A page as one inline SVG: no script, no style sheet, no reference to anything outside.

use std::fmt::Write as _;

use crate::diagnostic::escape_control;

use super::page::{Op, Page, Pen};

/// Writes a page as an SVG element with a title and a description for readers that do not see it.
pub fn svg(page: &Page, title: &str, description: &str) -> String {
    let mut out = String::new();
    let (width, height) = (number(page.width), number(page.height));
    let _ = write!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" width=\"100%\" role=\"img\" \
         font-family=\"Helvetica, Arial, sans-serif\"><title>{}</title><desc>{}</desc>",
        escaped(title),
        escaped(description)
    );
    for op in &page.ops {
        element(&mut out, op);
    }
    out.push_str("</svg>");
    out
}

fn element(out: &mut String, op: &Op) {
    match op {
        Op::Line { points, closed, pen, title } => {
            let name = if *closed { "polygon" } else { "polyline" };
            let list: Vec<String> =
                points.iter().map(|[x, y]| format!("{},{}", number(*x), number(*y))).collect();
            let _ =
                write!(out, "<{name} points=\"{}\" {}>{}</{name}>", list.join(" "), drawn(pen), told(title));
        }
        Op::Circle { centre: [x, y], radius, pen, title } => {
            let (x, y, r) = (number(*x), number(*y), number(*radius));
            let _ = write!(
                out,
                "<circle cx=\"{x}\" cy=\"{y}\" r=\"{r}\" {}>{}</circle>",
                drawn(pen),
                told(title)
            );
        }
        Op::Text { at: [x, y], size, centred, ink, text } => {
            let anchor = if *centred { " text-anchor=\"middle\"" } else { "" };
            // A white edge keeps a name legible where a line runs under it.
            let edge =
                if *centred { "" } else { " stroke=\"#ffffff\" stroke-width=\"2.5\" paint-order=\"stroke\"" };
            let _ = write!(
                out,
                "<text x=\"{}\" y=\"{}\" font-size=\"{}\" fill=\"{}\"{anchor}{edge}>{}</text>",
                number(*x),
                number(*y),
                number(*size),
                colour(*ink),
                escaped(text)
            );
        }
    }
}

fn drawn(pen: &Pen) -> String {
    let fill = pen.fill.map_or_else(|| "none".to_owned(), colour);
    let dash: Vec<String> = pen.dash.iter().map(|part| number(*part)).collect();
    let dash =
        if dash.is_empty() { String::new() } else { format!(" stroke-dasharray=\"{}\"", dash.join(" ")) };
    format!("fill=\"{fill}\" stroke=\"{}\" stroke-width=\"{}\"{dash}", colour(pen.ink), number(pen.width))
}

fn told(title: &str) -> String {
    if title.is_empty() { String::new() } else { format!("<title>{}</title>", escaped(title)) }
}

fn colour([red, green, blue]: [u8; 3]) -> String {
    format!("#{red:02x}{green:02x}{blue:02x}")
}

/// A number with one decimal at most; never "-0".
fn number(value: f64) -> String {
    let text = format!("{:.1}", if value.is_finite() { value } else { 0.0 });
    let text = text.strip_suffix(".0").unwrap_or(&text);
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// Text that can be no markup and no control; characters that XML has no place for become a question mark.
fn escaped(text: &str) -> String {
    let mut out = String::new();
    for c in escape_control(text).chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\u{fffe}' | '\u{ffff}' => out.push('?'),
            c => out.push(c),
        }
    }
    out
}
