//! Answers: one key each. What is kept is said; what stands in the way is said and nothing is lost.

use crate::model::entry::{Entry, Finding, Outcome, Photo, Severity};
use crate::walk::{Action, Observed, Reply, Workspace, decide};

use super::app::App;
use super::keymap::UiAction;
use super::sheet::named;
use super::state::{About, Fresh, Purpose, Screen};
use super::text::{many, result_word};

impl<G: Workspace> App<G> {
    pub(super) fn act_answer(&mut self, action: UiAction) {
        match action {
            UiAction::Accept => self.answer(Some(Outcome::Accept), false),
            UiAction::Reject => self.answer(Some(Outcome::Reject), false),
            UiAction::NotSeen => self.answer(Some(Outcome::NotSeen), false),
            UiAction::NotFitted => self.answer(Some(Outcome::NotFitted), false),
            UiAction::NotYet => self.answer(Some(Outcome::NotYet), false),
            UiAction::Repaired => self.answer(Some(Outcome::Repaired), false),
            UiAction::ByEye => self.answer(Some(Outcome::Accept), true),
            UiAction::SameAsLast => self.answer_as_last(),
            UiAction::AcceptStation => self.ask_station(),
            UiAction::Withdraw => self.take_back(),
            UiAction::Note => self.ask_note(),
            UiAction::Photo => self.ask_photo(),
            UiAction::Heavier => self.weigh(true),
            UiAction::Lighter => self.weigh(false),
            _ => {}
        }
    }

    /// A reply to the check at hand, with the weight said before it.
    pub(super) fn reply(&self, result: Option<Outcome>) -> Option<Reply> {
        let check = self.state.walk.as_ref()?.check()?.id.clone();
        let mut reply = Reply { check, result, ..Reply::default() };
        if let super::state::Screen::Walk(page) = &self.state.screen
            && let Some((_, severity)) = page.weight.as_ref().filter(|(check, _)| *check == reply.check)
        {
            reply.severity = Some(*severity);
        }
        Some(reply)
    }

    fn answer(&mut self, result: Option<Outcome>, by_eye: bool) {
        let Some(reply) = self.reply(result) else { return };
        self.settle(Action::Answer(Box::new(Reply { by_eye, ..reply })));
    }

    /// Carries an answer out and says what was kept; one that would replace a reject of this walk is asked about first.
    pub(super) fn settle(&mut self, action: Action) {
        if !self.asks_to_replace(&action) {
            self.keep_answer(action);
        }
    }

    /// Carries an answer out and says what was kept.
    pub(super) fn keep_answer(&mut self, action: Action) {
        let Some(records) = self.carry_out(&action) else { return };
        if matches!(self.state.screen, Screen::Findings(_)) {
            self.item_answered(&records);
        } else {
            self.answered(records);
        }
    }

    /// After an answer is kept: what it was, where the walk stands now, and where it goes on.
    pub(super) fn answered(&mut self, records: Vec<String>) {
        self.state.overlay = None;
        let findings = self.findings_of(&records);
        let Some(last) = findings.last().cloned() else { return };
        self.drafts_answered(&findings);
        let fresh = match findings.as_slice() {
            // After an accept, a note belongs to the check on screen; after a reject, to what was rejected.
            [one] if one.1.result.is_open() => {
                Some(Fresh { record: one.0.clone(), severity: one.1.severity })
            }
            _ => None,
        };
        let text = match findings.as_slice() {
            [(_, one)] => {
                let weight = if one.result == Outcome::Reject {
                    format!(" {}", one.severity.word().to_uppercase())
                } else {
                    String::new()
                };
                // What may follow an answer that leaves something open is said at once.
                let more = if one.result.is_open() { self.for_it() } else { String::new() };
                let rules = self.state.walk.as_ref().map(|walk| &walk.start.rules);
                let name = rules.map_or_else(|| one.title.clone(), |rules| rules.listed(one));
                let name = named(&name, one.of.as_deref());
                format!("Kept: {}{weight} — {name}{more}", result_word(one.result))
            }
            several => format!("Kept: {} accepted at this station", many(several.len(), "check")),
        };
        self.state.say(text);
        let at = self.go_on_from(&last.1.check);
        self.go_to(at);
        if let Some(page) = self.page() {
            page.batch = records;
            page.fresh = fresh;
            page.weight = None;
        }
        let finished = self.state.walk.as_ref().is_some_and(|walk| walk.current().is_none());
        if finished {
            self.open_end();
        }
        if let [(_, finding)] = findings.as_slice() {
            self.note_after_reject(finding);
        }
    }

    /// After a reject the note line is open at once: what is typed next is the reason, and not an answer.
    pub(super) fn note_after_reject(&mut self, finding: &Finding) {
        if finding.result == Outcome::Reject {
            let about = about(finding);
            let Some(walk) = &self.state.walk else { return };
            let rules = &walk.start.rules;
            let offers = rules.check(&about.check).is_some_and(|check| !check.causes.is_empty());
            let wanted = if offers { "A digit, a note" } else { "Note" };
            let fault = named(&rules.listed(finding), finding.of.as_deref());
            let prompt = format!("REJECTED: {fault}. {wanted} (Enter: none):");
            self.ask_words(prompt, "", Purpose::NoteAfter(about));
        }
    }

    fn for_it(&self) -> String {
        let key = |action| self.state.key(action);
        let (note, photo) = (key(UiAction::Note), key(UiAction::Photo));
        let (heavier, lighter) = (key(UiAction::Heavier), key(UiAction::Lighter));
        format!(". For it: {note} note, {photo} photo, {heavier}/{lighter} weight")
    }

    /// The step to go on with: what has to be made safe, else the next without an answer.
    fn go_on_from(&self, check: &str) -> usize {
        let Some(walk) = &self.state.walk else { return 0 };
        if let Some(at) = walk.paused().and_then(|step| walk.plan.position(&step.check)) {
            return at;
        }
        let answered = walk.answered();
        let first =
            walk.plan.steps.iter().position(|step| {
                step.why == crate::walk::Why::First && !answered.contains(step.check.as_str())
            });
        first.unwrap_or_else(|| walk.next_unanswered(walk.plan.position(check).map_or(walk.at, |at| at + 1)))
    }

    /// Findings among records, each under the words it is listed by.
    pub(super) fn findings_of(&self, records: &[String]) -> Vec<(String, Finding)> {
        let Some(walk) = &self.state.walk else { return Vec::new() };
        let found = records.iter().filter_map(|id| match &walk.history.get(id)?.entry {
            Entry::Finding(finding) => {
                let title = walk.start.rules.listed(finding);
                Some((id.clone(), Finding { title, ..finding.as_ref().clone() }))
            }
            _ => None,
        });
        found.collect()
    }

    pub(super) fn accept_station(&mut self, station: String) {
        let Some(records) = self.carry_out(&Action::AcceptStation(station.clone())) else { return };
        let count = self.findings_of(&records).len();
        let Some(walk) = &self.state.walk else { return };
        let answered = walk.answered();
        let left: Vec<usize> = walk
            .plan
            .steps
            .iter()
            .enumerate()
            .filter(|(_, step)| step.station == station && !answered.contains(step.check.as_str()))
            .map(|(at, _)| at)
            .collect();
        // What is left at the station comes next, wherever the person stood in it.
        let last = walk.plan.steps.iter().rposition(|step| step.station == station).unwrap_or(walk.at);
        let at = left.first().copied().unwrap_or_else(|| walk.next_unanswered(last + 1));
        let finished = walk.plan.steps.len() <= at;
        let rest = if left.is_empty() {
            "the station is done".to_owned()
        } else {
            let key = self.state.key(UiAction::AcceptStation);
            let more = decide(walk, &Action::AcceptStation(station), &mut String::new).is_ok();
            let how = if more {
                format!("{key} once more shows them: by eye, or as the file says")
            } else {
                "answered one by one".to_owned()
            };
            format!("{} left here ({how})", left.len())
        };
        self.state.say(format!("Kept: {} accepted at this station; {rest}", many(count, "check")));
        self.go_to(at);
        if let Some(page) = self.page() {
            page.batch = records;
        }
        if finished {
            self.open_end();
        }
    }

    /// Takes back what the last key kept: a note, an answer with the weights put on it, or the whole station of one key.
    fn take_back(&mut self) {
        let batch = self.page().map(|page| std::mem::take(&mut page.batch)).unwrap_or_default();
        let Some(walk_id) = self.state.walk.as_ref().and_then(|walk| walk.id.clone()) else {
            self.state.say("Nothing was answered in this walk yet.");
            return;
        };
        if let [noted] = batch.as_slice()
            && self.take_note_back(noted)
        {
            return;
        }
        let Some(walk) = &self.state.walk else { return };
        let is_mine = |finding: &Finding| finding.walk == walk_id;
        let mut records: Vec<String> =
            batch.into_iter().filter(|id| !walk.history.is_withdrawn(id)).collect();
        records.retain(|id| matches!(walk.history.get(id).map(|kept| &kept.entry), Some(Entry::Finding(_))));
        if records.len() < 2 {
            let last = walk.history.standing_entries().rev().find_map(|kept| match &kept.entry {
                Entry::Finding(finding) if is_mine(finding) => Some(finding.as_ref()),
                _ => None,
            });
            let Some(last) = last else {
                self.state.say("Nothing is left to take back in this walk.");
                return;
            };
            let same = |finding: &Finding| {
                is_mine(finding)
                    && finding.check == last.check
                    && finding.of == last.of
                    && finding.result == last.result
            };
            let of_it = walk
                .history
                .standing_entries()
                .filter(|kept| matches!(&kept.entry, Entry::Finding(f) if same(f)));
            records = of_it.map(|kept| kept.id.clone()).collect();
        }
        self.withdraw(&records, None);
    }

    /// Takes a note or photo back that was kept by the last key; whether it was one.
    fn take_note_back(&mut self, record: &str) -> bool {
        let Some(walk) = &self.state.walk else { return false };
        let name = match walk.history.get(record).map(|kept| &kept.entry) {
            Some(Entry::Observation(noted)) => named(&noted.title, noted.of.as_deref()),
            _ => return false,
        };
        if self.carry_out(&Action::Withdraw { record: record.to_owned(), note: None }).is_some() {
            self.state.say(format!("Taken back: the note on \"{name}\". It stays in the log as taken back."));
        }
        true
    }

    /// Takes records back, for a reason where one was asked for, and goes to the check of the first.
    pub(super) fn withdraw(&mut self, records: &[String], note: Option<&str>) {
        let findings = self.findings_of(records);
        for record in records {
            let action = Action::Withdraw { record: record.clone(), note: note.map(str::to_owned) };
            if self.carry_out(&action).is_none() {
                return;
            }
        }
        let Some((_, first)) = findings.first() else { return };
        let title = named(&first.title, first.of.as_deref());
        match findings.len() {
            1 => self.state.say(format!(
                "Taken back: {} — {title}. It stays in the log as taken back.",
                result_word(first.result)
            )),
            count => self.state.say(format!(
                "Taken back: {} from {title} on. They stay in the log as taken back.",
                many(count, "answer")
            )),
        }
        let at = self.state.walk.as_ref().and_then(|walk| walk.plan.position(&first.check));
        if let (Some(at), super::state::Screen::Walk(_)) = (at, &self.state.screen) {
            self.go_to(at);
        }
    }

    /// What a note is about: the answer just kept where it left something open, else the check at hand.
    fn about_now(&self) -> Option<About> {
        if let Some(fresh) = self.state.fresh() {
            let (_, finding) = self.findings_of(std::slice::from_ref(&fresh.record)).into_iter().next()?;
            return Some(about(&finding));
        }
        let check = self.state.walk.as_ref()?.check()?;
        Some(About { check: check.id.clone(), of: None, name: check.looked_at().to_owned() })
    }

    pub(super) fn ask_note(&mut self) {
        if let Some(about) = self.about_now() {
            self.ask_words(format!("Note on {}:", about.name), "", Purpose::Note(about));
        }
    }

    pub(super) fn ask_photo(&mut self) {
        if let Some(about) = self.about_now() {
            self.ask_words(format!("Photo file for {}:", about.name), "", Purpose::Photo(about));
        }
    }

    /// Keeps a note or a photo by itself, beside the answer that stands or beside the check.
    pub(super) fn observe(&mut self, about: &About, note: Option<String>, photos: Vec<Photo>) {
        let what = if note.is_some() { "Note" } else { "Photo" };
        let (check, of) = (about.check.clone(), about.of.clone());
        let observed = Observed { check, of, note, photos, ..Observed::default() };
        if let Some(records) = self.carry_out(&Action::Observe(Box::new(observed))) {
            self.state.overlay = None;
            self.state.say(format!("{what} kept on \"{}\".", about.name));
            if let Some(page) = self.page() {
                page.batch = records;
            }
        }
    }

    /// One step heavier or lighter: the answer just kept, else what the coming reject of this check will weigh.
    fn weigh(&mut self, heavier: bool) {
        if let Some(fresh) = self.state.fresh().cloned() {
            match shifted(fresh.severity, heavier) {
                Some(severity) => self.weigh_record(&fresh.record, severity),
                None => self.state.say("It cannot go further that way."),
            }
            return;
        }
        let Some(walk) = &self.state.walk else { return };
        let Some(check) = walk.check() else { return };
        let (id, usual) = (check.id.clone(), check.severity);
        let Some(page) = self.page() else { return };
        let said = page.weight.as_ref().filter(|(check, _)| *check == id);
        let now = said.map_or(usual, |(_, severity)| *severity);
        let Some(next) = shifted(now, heavier) else {
            self.state.say("It cannot go further that way.");
            return;
        };
        page.weight = Some((id, next));
        self.state.say(format!("A reject of this check will weigh: {}", next.word().to_uppercase()));
    }

    /// Keeps a finding again with another severity.
    pub(super) fn weigh_record(&mut self, record: &str, severity: Severity) {
        let action = Action::Weigh { record: record.to_owned(), severity, note: None };
        if let Some(records) = self.carry_out(&action) {
            self.reweighed(records, severity);
        }
    }

    /// After a finding was kept again with another weight.
    pub(super) fn reweighed(&mut self, records: Vec<String>, severity: Severity) {
        self.state.overlay = None;
        let Some((record, finding)) = self.findings_of(&records).into_iter().next() else { return };
        self.state.say(format!(
            "Kept: {} {} — {}",
            result_word(finding.result),
            severity.word().to_uppercase(),
            finding.title
        ));
        if let Some(page) = self.page() {
            page.fresh = Some(Fresh { record, severity });
        }
    }
}

/// What a note on an answer is about.
fn about(finding: &Finding) -> About {
    let name = named(&finding.title, finding.of.as_deref());
    About { check: finding.check.clone(), of: finding.of.clone(), name }
}

/// One step heavier or lighter.
pub(super) fn shifted(severity: Severity, heavier: bool) -> Option<Severity> {
    match (severity, heavier) {
        (Severity::Note, true) | (Severity::Stop, false) => Some(Severity::Fix),
        (Severity::Fix, true) => Some(Severity::Stop),
        (Severity::Fix, false) => Some(Severity::Note),
        (Severity::Stop, true) | (Severity::Note, false) => None,
    }
}
