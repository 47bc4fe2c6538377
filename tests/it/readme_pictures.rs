//! Pictures of the README are the program's own screens, and its key table is the program's own list. After a change of
//! either, `PICTURES=write cargo test --test it readme_pictures` draws them anew.

use std::fs;
use std::path::PathBuf;

use linewalk::tui::{Options, Person, Theme, rgb, table};
use ratatui::buffer::Buffer;
use ratatui::style::{Color, Modifier};

use crate::screens::{Script, options};
use crate::screens_modes::buffer;
use crate::screens_workspace::TestWorkspace;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// An inspector at the second station of a shipped car.
fn at_a_check() -> Script {
    let plover = fs::read_to_string(root().join("sample-cars/plover.toml")).unwrap();
    let mut script = Script::with(
        TestWorkspace::shipped(&plover),
        Options { person: Some(Person::Inspector), ..options() },
    );
    script.text("318").press("<enter> <enter> a a g <enter>");
    script
}

/// A screen as lines of text, without the blanks at their ends.
fn lines(script: &mut Script, size: (u16, u16)) -> String {
    let buffer = buffer(script, Theme::Mono, size);
    let rows = buffer.content.chunks(usize::from(size.0));
    rows.map(|row| {
        let line: String = row.iter().map(ratatui::buffer::Cell::symbol).collect();
        format!("{}\n", line.trim_end())
    })
    .collect()
}

fn hex(color: Color) -> String {
    let Color::Indexed(number) = color else { panic!("{color:?}") };
    let [r, g, b] = rgb(number).unwrap();
    format!("#{r:02x}{g:02x}{b:02x}")
}

/// A screen in its colours.
fn svg(buffer: &Buffer) -> String {
    let (wide, high) = (buffer.area.width, buffer.area.height);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {} {}\" font-family=\"monospace\" font-size=\"13.2\">\n",
        wide * 8,
        high * 16
    );
    let ground = |cell: &ratatui::buffer::Cell| hex(cell.bg);
    out.push_str(&format!(
        "<rect width=\"100%\" height=\"100%\" fill=\"{}\"/>\n",
        ground(&buffer[(0, high - 1)])
    ));
    for (y, row) in buffer.content.chunks(usize::from(wide)).enumerate() {
        for run in
            row.chunk_by(|a, b| (a.fg, a.bg, a.modifier) == (b.fg, b.bg, b.modifier)).scan(0, |x, run| {
                *x += run.len();
                Some((*x - run.len(), run))
            })
        {
            let (x, cells) = run;
            let text: String = cells.iter().map(ratatui::buffer::Cell::symbol).collect();
            if ground(&cells[0]) != ground(&buffer[(0, high - 1)]) {
                out.push_str(&format!(
                    "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"16\" fill=\"{}\"/>\n",
                    x * 8,
                    y * 16,
                    cells.len() * 8,
                    ground(&cells[0])
                ));
            }
            if text.trim().is_empty() {
                continue;
            }
            let bold = if cells[0].modifier.contains(Modifier::BOLD) { " font-weight=\"bold\"" } else { "" };
            let text = text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;");
            out.push_str(&format!(
                "<text x=\"{}\" y=\"{}\" textLength=\"{}\" xml:space=\"preserve\" fill=\"{}\"{bold}>{text}</text>\n",
                x * 8,
                y * 16 + 12,
                cells.len() * 8,
                hex(cells[0].fg)
            ));
        }
    }
    out.push_str("</svg>\n");
    out
}

/// The text between a line that names a picture and the next such line.
fn replaced(readme: &str, name: &str, inner: &str) -> String {
    let (start, end) = (format!("<!-- {name} -->\n"), format!("<!-- end of {name} -->"));
    let (before, rest) = readme.split_once(&start).unwrap_or_else(|| panic!("the README has no {name}"));
    let (_, after) = rest.split_once(&end).unwrap();
    format!("{before}{start}{inner}{end}{after}")
}

#[test]
fn pictures_and_keys_of_the_readme_are_the_programs_own() {
    let fenced = |text: String| format!("\n```\n{text}```\n\n");
    let mut called = at_a_check();
    let walk = lines(&mut called, (80, 24));
    called.press("z");
    let call_out = lines(&mut called, (60, 20));
    let before = fs::read_to_string(root().join("README.md")).unwrap();
    let mut after = replaced(&before, "picture: a check", &fenced(walk));
    after = replaced(&after, "picture: call-out", &fenced(call_out));
    after = replaced(&after, "keys", &format!("\n{}\n", table()));
    let mut large = at_a_check();
    let pictures = [("dark", Theme::Dark), ("sun", Theme::Sun)].map(|(word, theme)| {
        (format!("tests/pictures/walk-{word}.svg"), svg(&buffer(&mut large, theme, (120, 40))))
    });
    let write = std::env::var_os("PICTURES").is_some_and(|word| word == "write");
    for (path, text) in [("README.md".to_owned(), after)].into_iter().chain(pictures) {
        let file = root().join(&path);
        if write {
            fs::create_dir_all(file.parent().unwrap()).unwrap();
            fs::write(&file, &text).unwrap();
        }
        let known = fs::read_to_string(&file).unwrap_or_default();
        assert!(
            known == text,
            "{path} is not what the program shows: PICTURES=write cargo test --test it readme_pictures"
        );
    }
}
