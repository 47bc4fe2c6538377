//! `linewalk event watch`: what race control sees, as text, as JSON, or on the terminal as it happens.

use std::collections::BTreeMap;
use std::io::{self, IsTerminal};
use std::sync::Arc;
use std::time::{Duration, Instant};

use crossterm::event::{self, Event, KeyCode, KeyEvent, KeyModifiers};
use ratatui::text::Text;
use ratatui::widgets::Paragraph;
use tokio::sync::Notify;

use super::args::{WatchArgs, WatchFormat, WatchOnly};
use super::event::told;
use super::output::put;
use super::run::{Context, DONE, OPEN, Outcome};
use crate::lanes::board::{Board, CarNow, Filter, Only, entries};
use crate::lanes::engine::Next;
use crate::lanes::server::Server as _;
use crate::shell::clock;
use crate::shell::joined::{Joined, joined};
use crate::shell::lane::{Carrier, carrier};
use crate::shell::load::find_car;
use crate::shell::paths::read_text;
use crate::shell::workspace::DiskWorkspace;
use crate::tui;

pub(super) fn run(context: &Context, args: &WatchArgs) -> Outcome {
    let event = match &args.url {
        Some(url) => Joined { url: url.trim().to_owned(), plain: args.plain },
        None => joined(&context.paths)?
            .ok_or("no event is joined: give the URL, or `linewalk event join` first")?,
    };
    let expected = args.entries.as_deref().map(read_text).transpose()?;
    let mut watch = Watch {
        engine: carrier(&context.paths, &event, false, Arc::new(Notify::new()))?,
        workspace: context.workspace(None, Vec::new()),
        expected: entries(expected.as_deref().unwrap_or_default()),
        board: Board::default(),
        came: BTreeMap::new(),
        filter: Filter { only: only(args.only), lane: args.lane.clone(), car: args.car.clone() },
        asked: None,
    };
    let on_terminal = io::stdout().is_terminal() && io::stdin().is_terminal();
    if on_terminal && args.format == WatchFormat::Text {
        return watch.on_terminal();
    }
    super::event::until_still(&mut watch.engine, Duration::from_secs(120));
    watch.refresh()?;
    watch.print(args.format);
    if args.follow {
        return watch.follow(args.format);
    }
    told(watch.engine.status());
    Ok(if watch.engine.status().joined { DONE } else { OPEN })
}

fn only(word: WatchOnly) -> Only {
    match word {
        WatchOnly::All => Only::All,
        WatchOnly::Stops => Only::Stops,
        WatchOnly::Again => Only::Rechecks,
        WatchOnly::Unseen => Only::Unseen,
    }
}

struct Watch {
    engine: Carrier,
    workspace: DiskWorkspace,
    expected: Vec<String>,
    board: Board,
    /// How many records had come for each car when it was last read.
    came: BTreeMap<String, u64>,
    filter: Filter,
    /// When the lanes' pace was asked for last.
    asked: Option<Instant>,
}

impl Watch {
    fn print(&self, format: WatchFormat) {
        match format {
            WatchFormat::Text => put(&self.board.text(&self.filter, 80)),
            WatchFormat::Json => put(&format!("{}\n", self.board.json(&self.filter))),
        }
    }

    /// Prints anew whenever something changed, until the program is stopped.
    fn follow(&mut self, format: WatchFormat) -> Outcome {
        loop {
            let before = (self.board.cars.clone(), self.board.lanes.clone(), self.board.trouble.clone());
            self.round(Duration::from_secs(1))?;
            if before != (self.board.cars.clone(), self.board.lanes.clone(), self.board.trouble.clone()) {
                self.print(format);
            }
        }
    }

    /// One round with the server, and a wait for news of at most so long.
    fn round(&mut self, at_most: Duration) -> Result<(), String> {
        match self.engine.round(&[], false, clock::now()) {
            Next::Again => {}
            Next::Wait(time) => {
                let gone = self.engine.link().is_some_and(|link| link.wait(time.min(at_most)).is_err());
                if gone {
                    self.engine.hang_up();
                }
            }
            Next::Pause(time) => std::thread::sleep(time.min(at_most)),
        }
        self.refresh()
    }

    /// Reads again the cars that changed.
    fn refresh(&mut self) -> Result<(), String> {
        let came = self.engine.status().came.clone();
        let first = self.board.cars.is_empty();
        let known = if first { self.workspace.paths.cars()? } else { Vec::new() };
        let changed = came.iter().filter(|(car, count)| self.came.get(*car) != Some(*count));
        let changed: Vec<String> = changed.map(|(car, _)| car.clone()).chain(known).collect();
        for car in changed {
            let (history, _) = self.workspace.history(&car)?;
            let found = find_car(&self.workspace.paths, &car, &Default::default()).ok();
            let number = found.map(|found| found.read.car.number.clone());
            self.board.cars.insert(car.clone(), CarNow::of(&car, number.as_deref(), &history));
        }
        self.came = came;
        self.board.now = clock::now();
        self.board.expect(&self.expected);
        let status = self.engine.status();
        self.board.trouble =
            (!status.joined).then(|| status.trouble.clone().unwrap_or_else(|| "not reached yet".to_owned()));
        if self.asked.is_some_and(|at| at.elapsed() < Duration::from_secs(2)) {
            return Ok(());
        }
        self.asked = Some(Instant::now());
        let lanes = self.engine.link().map(|link| link.lanes());
        match lanes {
            Some(Ok(lanes)) => self.board.lanes = lanes,
            Some(Err(_)) => self.engine.hang_up(),
            None => {}
        }
        Ok(())
    }

    /// Until the person leaves.
    fn on_terminal(&mut self) -> Outcome {
        let shown = tui::screen().and_then(|screen| tui::with_screen(screen, |screen| self.show(screen)));
        shown.map_err(|error| format!("the terminal gave up: {error}"))?.map(|()| DONE)
    }

    /// The outer error is the terminal's, the inner one that of what is shown.
    fn show(&mut self, screen: &mut tui::Screen) -> io::Result<Result<(), String>> {
        let mut scroll = 0_u16;
        if let Err(error) = self.refresh() {
            return Ok(Err(error));
        }
        loop {
            let size = screen.size()?;
            let mut text = self.board.text(&self.filter, usize::from(size.width));
            let rows = u16::try_from(text.lines().count()).unwrap_or(u16::MAX);
            let shown = size.height.saturating_sub(1);
            scroll = scroll.min(rows.saturating_sub(shown));
            text = text
                .lines()
                .skip(usize::from(scroll))
                .take(usize::from(shown))
                .collect::<Vec<_>>()
                .join("\n");
            let foot = " a all  s stops  g look again  u not seen  Up/Down scroll  q leave";
            screen.draw(|frame| {
                let area = frame.area();
                frame.render_widget(Paragraph::new(Text::raw(text)), area);
                let last = ratatui::layout::Rect { y: area.height.saturating_sub(1), height: 1, ..area };
                frame.render_widget(Paragraph::new(foot), last);
            })?;
            let end = Instant::now() + Duration::from_secs(1);
            while event::poll(tui::AT_ONCE)? {
                match event::read()? {
                    Event::Key(key) if key.is_press() && leaves(key) => return Ok(Ok(())),
                    Event::Key(key) if key.is_press() => self.press(key, &mut scroll),
                    _ => {}
                }
            }
            if let Err(error) = self.round(Duration::from_millis(200).min(end - Instant::now())) {
                return Ok(Err(error));
            }
        }
    }

    fn press(&mut self, key: KeyEvent, scroll: &mut u16) {
        match key.code {
            KeyCode::Char('a') => self.filter.only = Only::All,
            KeyCode::Char('s') => self.filter.only = Only::Stops,
            KeyCode::Char('g') => self.filter.only = Only::Rechecks,
            KeyCode::Char('u') => self.filter.only = Only::Unseen,
            KeyCode::Down => *scroll = scroll.saturating_add(1),
            KeyCode::Up => *scroll = scroll.saturating_sub(1),
            KeyCode::PageDown => *scroll = scroll.saturating_add(15),
            KeyCode::PageUp => *scroll = scroll.saturating_sub(15),
            _ => {}
        }
    }
}

fn leaves(key: KeyEvent) -> bool {
    key.code == KeyCode::Char('q')
        || (key.code == KeyCode::Char('c') && key.modifiers.contains(KeyModifiers::CONTROL))
}
