//! An answers file that was cut off goes on with where it stopped, and one that was kept whole is not kept twice.

use linewalk::diagnostic::{Diagnostic, SourceFile};
use linewalk::model::entry::{Entry, Kept, Outcome};
use linewalk::walk::{Decided, Journal, PaperPlan, keep_paper, plan_paper, read_paper};

use crate::bench::{Bench, short_car};

/// Two readings' worth of rows, a reject by number that nobody answers, and the end.
const FILE: &str = r#"format = 1
by = "R.N."
profile = "owner"
end = true
[[reading]]
key = "brakes.fluid_hottest"
value = "300 F"
[[answer]]
check = "pins"
result = "accept"
[[answer]]
check = "safe"
result = "accept"
[[answer]]
check = "dust"
result = "reject"
note = "wet"
[[answer]]
check = "dust"
result = "accept"
note = "wiped"
[[answer]]
check = "gap"
value = "1 in"
result = "accept"
"#;

fn plan(bench: &mut Bench, again: bool) -> Result<PaperPlan, Vec<Diagnostic>> {
    let (paper, diagnostics) = read_paper(&SourceFile::new("sheet.toml", FILE));
    assert!(diagnostics.is_empty(), "{diagnostics:?}");
    let now = "2026-11-25T12:00:00Z".parse().unwrap();
    plan_paper(&bench.walk, &paper, again, now, &mut || bench.keeper.new_id())
}

fn keep(bench: &mut Bench, plan: PaperPlan) {
    keep_paper(&mut bench.walk, &mut bench.keeper, plan).unwrap();
}

/// What the record says, without ids and times.
fn said(kept: &[Kept]) -> Vec<String> {
    let words = kept.iter().map(|kept| match &kept.entry {
        Entry::Finding(one) => {
            format!("{} {:?} {:?} {:?} {:?}", one.check, one.of, one.result, one.judged_by, one.note)
        }
        Entry::Reading(reading) => format!("{} {}", reading.key, reading.value),
        Entry::WalkStarted(_) => "walk started".to_owned(),
        Entry::WalkEnded { .. } => "walk ended".to_owned(),
        Entry::AnswersFile(file) => format!("answers file, whole: {}", file.whole),
        other => panic!("{other:?}"),
    });
    words.collect()
}

/// Cut after every single record, as by a kill: given again, the record is what it would have been.
#[test]
fn cut_anywhere_it_goes_on_where_it_stopped() {
    let mut whole = Bench::fresh(&short_car());
    let all = plan(&mut whole, false).unwrap();
    let count = all.entries.len();
    keep(&mut whole, all);
    let wanted = said(&whole.keeper.kept);
    assert!(wanted.iter().any(|words| words.contains("Program")), "a number rejects at the end: {wanted:?}");
    assert_eq!(wanted.last().map(String::as_str), Some("answers file, whole: true"));
    for cut in 0..count {
        let mut bench = Bench::fresh(&short_car());
        let first: Vec<Decided> = plan(&mut bench, false)
            .unwrap()
            .entries
            .into_iter()
            .take(cut)
            .map(|(decided, _)| decided)
            .collect();
        for decided in first {
            let kept = bench.keeper.keep(decided).unwrap();
            bench.walk.apply(kept);
        }
        let rest =
            plan(&mut bench, false).unwrap_or_else(|diagnostics| panic!("cut at {cut}: {diagnostics:?}"));
        keep(&mut bench, rest);
        assert_eq!(said(&bench.keeper.kept), wanted, "cut at {cut}");
        let refused = plan(&mut bench, false).unwrap_err();
        assert!(refused[0].message.contains("kept before") && refused[0].help.contains("--again"));
    }
    let again = plan(&mut whole, true).unwrap();
    let rows = again.entries.iter().filter(|(decided, _)| match &decided.entry {
        Entry::Finding(finding) => finding.sheet.is_some(),
        Entry::Reading(reading) => reading.sheet.is_some(),
        _ => false,
    });
    assert_eq!(rows.count(), 6, "all of it once more where that is meant");
}

/// Answers given in between, on the screen or from another file, are none of its rows.
#[test]
fn what_was_answered_in_between_stays_and_is_not_taken_for_its_rows() {
    let mut bench = Bench::fresh(&short_car());
    for (decided, _) in plan(&mut bench, false).unwrap().entries.into_iter().take(5) {
        let kept = bench.keeper.keep(decided).unwrap();
        bench.walk.apply(kept);
    }
    bench.say("boots", Outcome::Reject).unwrap();
    let rest = plan(&mut bench, false).unwrap();
    assert_eq!(rest.before, 3, "the reading and two answers");
    keep(&mut bench, rest);
    assert_eq!(bench.standing("boots"), Some(Outcome::Reject));
    let dust = bench.keeper.kept.iter().filter(|kept| match &kept.entry {
        Entry::Finding(finding) => finding.check == "dust",
        _ => false,
    });
    assert_eq!(dust.count(), 2, "each row once");
}

#[test]
fn a_failure_says_how_many_records_are_kept() {
    let mut bench = Bench::fresh(&short_car());
    let all = plan(&mut bench, false).unwrap();
    bench.keeper.failing = true;
    let said = keep_paper(&mut bench.walk, &mut bench.keeper, all).unwrap_err();
    assert!(said.contains("0 of the ") && said.contains("goes on where it stopped"), "{said}");
}
