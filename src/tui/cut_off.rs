//! After the program was cut off in the middle of keeping a record: whose it is, asked before the walk goes on.

use crate::model::doubt::Past;
use crate::model::entry::{Entry, Kept, Severity};
use crate::walk::{Decided, Workspace};

use super::app::App;
use super::asking::{Question, Then};
use super::text::{many, result_word, when};

impl<G: Workspace> App<G> {
    /// Asks about records of this machine that nobody vouches for, where the log at hand has some.
    pub(super) fn ask_about_cut_off(&mut self) {
        let (Some(past), Some(walk)) = (self.workspace.cut_off(), &self.state.walk) else { return };
        let of_past = |kept: &&Kept| kept.writer == past.writer && (past.from..=past.to).contains(&kept.seq);
        let code = |check: &str| {
            let known = walk.start.rules.check(check);
            known.and_then(|known| known.code.clone()).unwrap_or_default()
        };
        let lines: Vec<(Option<Severity>, String)> = walk
            .history
            .all()
            .iter()
            .filter(of_past)
            .map(|kept| match &kept.entry {
                Entry::Finding(one) => {
                    let result = result_word(one.result);
                    let at = when(kept.seen_at());
                    let listed = walk.start.rules.listed(one);
                    (Some(one.severity), format!("{} {listed}: {result}, {at}", code(&one.check)))
                }
                _ => (None, format!("another record, {}", when(kept.seen_at()))),
            })
            .collect();
        let records = many(lines.len(), "record");
        let question = Question {
            title: format!("The program was cut off while it kept {records}. Did you give this answer?"),
            lines,
            yes: "it counts".to_owned(),
            no: "ask it again".to_owned(),
            scroll: 0,
            then: Then::Confirm(past),
        };
        self.ask_first(question);
    }

    /// A person says that such records are theirs; the car is read again with them.
    pub(super) fn confirm_cut_off(&mut self, past: Past) {
        let by = self.workspace.by();
        let entry = Entry::Confirmed { log: past.writer, from: past.from, to: past.to, last: past.sum, by };
        let decided = Decided { id: self.workspace.new_id(), entry };
        if self.keep(vec![decided]).is_none() {
            return;
        }
        let Some(walk) = &self.state.walk else { return };
        let (profile, stage) = (walk.start.profile.clone(), walk.start.stage.clone());
        let car = self.opened.clone();
        self.start(&car, &profile, stage);
        self.state.say("Confirmed: it counts.");
    }
}
