//! Rows of a sheet that were ticked accept and nothing else: by code, by range, and the rest.

use linewalk::diagnostic::{Diagnostic, SourceFile};
use linewalk::model::entry::{Entry, Finding, Outcome};
use linewalk::model::given::HowGiven;
use linewalk::walk::{Journal, PaperPlan, keep_paper, plan_paper, read_paper};

use crate::bench::{Bench, CAR, short_car};

/// A sheet for the ten checks of the bench: NS60 and NS61 come first, NS62 is a stop with two items, NS63 a stop with a value,
/// NS64 a fix and NS65 a note to look at, TL60 a number, TL61 and TL62 values, TL63 a fix to feel.
fn plan(bench: &mut Bench, text: &str) -> Result<PaperPlan, Vec<Diagnostic>> {
    let text = format!("format = 1\nby = \"R.N.\"\nprofile = \"owner\"\n{text}");
    let (paper, diagnostics) = read_paper(&SourceFile::new("sheet.toml", text.as_str()));
    assert!(diagnostics.is_empty(), "{diagnostics:?}");
    let now = "2026-11-25T12:00:00Z".parse().unwrap();
    plan_paper(&bench.walk, &paper, false, now, &mut || bench.keeper.new_id())
}

/// What a sheet accepts: each check, and whether it was one of a range or the rest.
fn accepts(car: &str, text: &str) -> Result<Vec<(String, bool)>, String> {
    let mut bench = Bench::fresh(car);
    let plan = plan(&mut bench, text).map_err(|diagnostics| {
        let words: Vec<String> = diagnostics
            .iter()
            .map(|one| {
                assert!(one.at.shown().starts_with("sheet.toml:4:"), "{} {}", one.at.shown(), one.message);
                one.message.clone()
            })
            .collect();
        words.join("; ")
    })?;
    let findings = plan.entries.iter().filter_map(|(decided, _)| match &decided.entry {
        Entry::Finding(one) if !one.is_computed() => Some(one),
        _ => None,
    });
    let told = |one: &Finding| {
        assert_eq!(one.result, Outcome::Accept);
        (one.check.clone(), one.is_of_rest())
    };
    Ok(findings.map(|one| told(one)).collect())
}

fn listed(checks: &[(&str, bool)]) -> Result<Vec<(String, bool)>, String> {
    Ok(checks.iter().map(|(check, rest)| ((*check).to_owned(), *rest)).collect())
}

#[test]
fn codes_are_answers_one_by_one_and_a_range_is_rest_of_a_sheet() {
    let ticked = "accept = \"NS60 ns61 NS64..NS65\"";
    let found = listed(&[("pins", false), ("safe", false), ("pads", true), ("dust", true)]);
    assert_eq!(accepts(CAR, ticked), found);
}

#[test]
fn a_range_covers_only_what_the_rest_could_answer_and_names_the_others() {
    let covers = "a range covers only plain fix and note checks: ";
    let refused = accepts(CAR, "accept = \"NS60..NS65\"").unwrap_err();
    let each = "NS60 comes first of all, NS61 comes first of all, NS62 is a stop, NS63 is a stop";
    assert_eq!(refused, format!("{covers}{each}"));
    let refused = accepts(CAR, "accept = \"TL60..TL63\"").unwrap_err();
    assert_eq!(refused, format!("{covers}TL60 has a value, TL61 is a stop, TL62 is a stop"));
    let rejected =
        "accept = \"NS64..NS65\"\n[[answer]]\ncheck = \"NS65\"\nresult = \"reject\"\nnote = \"wet\"";
    assert_eq!(
        accepts(CAR, rejected).unwrap_err(),
        format!("{covers}NS65 is answered otherwise in this file")
    );
}

#[test]
fn what_names_no_row_or_several_parts_is_refused() {
    let one = |list: &str| accepts(CAR, &format!("accept = \"{list}\"")).unwrap_err();
    assert!(one("NS62").contains("NS62 has several items, and this names none: NS62-a is left-hose"));
    assert!(one("NS99").contains("there is no check NS99"));
    assert_eq!(one("NS64..NS99"), "this sheet has no row NS99");
    assert_eq!(one("NS64..TL63"), "NS64..TL63 goes over two stations: a range stays at one");
    assert_eq!(one("NS65..NS64"), "NS65..NS64 goes backwards");
}

#[test]
fn the_rest_answers_no_stop_no_value_and_no_blank_row() {
    let unsaid = accepts(CAR, "rest = \"accept\"").unwrap_err();
    assert_eq!(unsaid, "rest answers no row that was left blank, and this does not say which were");
    let all = accepts(CAR, "rest = \"accept\"\nblank = \"none\"");
    assert_eq!(all, listed(&[("pads", true), ("dust", true), ("boots", true)]));
    let but_one = accepts(CAR, "rest = \"accept\"\nblank = \"NS65\"");
    assert_eq!(but_one, listed(&[("pads", true), ("boots", true)]));
    let answered = "rest = \"accept\"\nblank = \"none\"\n[[answer]]\ncheck = \"NS65\"\nresult = \"accept\"";
    assert_eq!(accepts(CAR, answered), listed(&[("dust", false), ("pads", true), ("boots", true)]));
}

#[test]
fn an_open_reject_is_answered_by_no_range_and_no_rest() {
    let rest = "rest = \"accept\"\nblank = \"none\"";
    let mut bench = Bench::sound();
    bench.say("dust", Outcome::Reject).unwrap();
    let kept = plan(&mut bench, rest).unwrap();
    keep_paper(&mut bench.walk, &mut bench.keeper, kept).unwrap();
    assert!(bench.is_open("dust"));
    assert_eq!(bench.standing("pads"), Some(Outcome::Accept));
    let refused = plan(&mut bench, "accept = \"NS64..NS65\"").unwrap_err();
    assert!(refused[0].message.ends_with("NS65 is open"), "{}", refused[0].message);
}

#[test]
fn it_is_counted_as_rest_of_a_sheet() {
    let mut bench = Bench::fresh(&short_car());
    let kept = plan(&mut bench, "accept = \"NS60 NS61\"\nrest = \"accept\"\nblank = \"none\"").unwrap();
    keep_paper(&mut bench.walk, &mut bench.keeper, kept).unwrap();
    let id = bench.walk.id.clone().unwrap();
    let how = HowGiven::of(&bench.walk.history, &id);
    assert_eq!(how.words(), "2 from a paper sheet, 3 rest of a sheet");
}

/// Wherever the keeping stops, the same file goes on, and comes to the same answers.
#[test]
fn cut_off_anywhere_it_goes_on() {
    let text = "end = true\naccept = \"NS60 NS61 TL63..TL63\"\nrest = \"accept\"\nblank = \"none\"";
    let whole = plan(&mut Bench::fresh(CAR), text).unwrap().entries.len();
    let answers = |bench: &Bench| {
        let mut said: Vec<(String, bool)> = bench
            .walk
            .history
            .findings()
            .into_iter()
            .map(|(_, one)| (one.check.clone(), one.is_of_rest()))
            .collect();
        said.sort();
        said
    };
    let mut expected = Bench::fresh(CAR);
    let kept = plan(&mut expected, text).unwrap();
    keep_paper(&mut expected.walk, &mut expected.keeper, kept).unwrap();
    for cut in 1..whole {
        let mut bench = Bench::fresh(CAR);
        let mut first = plan(&mut bench, text).unwrap();
        first.entries.truncate(cut);
        keep_paper(&mut bench.walk, &mut bench.keeper, first).unwrap();
        let second = plan(&mut bench, text).unwrap();
        keep_paper(&mut bench.walk, &mut bench.keeper, second).unwrap();
        assert_eq!(answers(&bench), answers(&expected), "cut after {cut}");
    }
}
