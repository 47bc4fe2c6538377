//! Answers from paper: checked whole before the first record, then kept by the same machine as on screen.

use linewalk::diagnostic::{Diagnostic, SourceFile};
use linewalk::model::entry::{Entry, Finding, Moment, Outcome};
use linewalk::walk::{Action, Journal, Reply, Walk, keep_paper, plan_paper, read_paper};

use crate::bench::{Bench, CAR, short_car, start};
use crate::shipped::day;

use Outcome::{Accept, NotSeen, Reject, Repaired, Undecided};

const HEAD: &str = "format = 1\ncar = \"test-car\"\nby = \"P.Q.\"\nprofile = \"owner\"\n";

fn now() -> Moment {
    "2026-11-25T12:00:00Z".parse().unwrap()
}

fn answer(check: &str, rest: &str) -> String {
    format!("[[answer]]\ncheck = \"{check}\"\n{rest}\n")
}

/// Gives a sheet to a walk: the number of records kept, or what was said.
fn give_again(bench: &mut Bench, text: &str, again: bool) -> Result<usize, Vec<Diagnostic>> {
    let (paper, diagnostics) = read_paper(&SourceFile::new("sheet.toml", text));
    if !diagnostics.is_empty() {
        return Err(diagnostics);
    }
    let plan = plan_paper(&bench.walk, &paper, again, now(), &mut || bench.keeper.new_id())?;
    let count = plan.entries.len();
    keep_paper(&mut bench.walk, &mut bench.keeper, plan).unwrap();
    Ok(count)
}

fn give(bench: &mut Bench, answers: &[String]) -> Result<usize, Vec<Diagnostic>> {
    give_again(bench, &format!("{HEAD}{}", answers.concat()), false)
}

fn told(result: Result<usize, Vec<Diagnostic>>) -> Vec<String> {
    let diagnostics = result.unwrap_err();
    diagnostics.iter().map(|diagnostic| format!("{} {}", diagnostic.at.shown(), diagnostic.message)).collect()
}

fn standing(bench: &Bench, check: &str) -> Finding {
    bench.walk.history.standing_of(check).unwrap().finding.clone()
}

#[test]
fn a_sheet_is_a_walk_without_a_terminal() {
    let mut bench = Bench::fresh(CAR);
    let sheet = [
        answer("boots", "result = \"reject\"\nnote = \"torn\"\nphoto = \"boot.jpg\""),
        answer("gap", "result = \"accept\"\nvalue = \"1 in\"\ninstrument = \"tape\""),
        answer("pads", "result = \"accept\"\nvalue = 4"),
        answer("gauge", "result = \"accept\"\nvalues = { first = \"120 psi\", later = \"119 psi\" }"),
        answer("hose-number", ""),
        "[[reading]]\nkey = \"suppression.bottle.b1.gauge\"\nvalue = \"200 psi\"\n".to_owned(),
    ];
    assert_eq!(give(&mut bench, &sheet).unwrap(), 9, "begun, the walk, a reading, five answers, whole");
    let started = bench.walk.history.walks()[0].started.clone();
    assert_eq!(
        (started.by.as_deref(), started.answers_sha256.map(|sum| sum.len())),
        (Some("P.Q."), Some(64))
    );
    let boots = standing(&bench, "boots");
    assert_eq!((boots.result, boots.by.as_deref(), boots.photos.len()), (Reject, Some("P.Q."), 1));
    assert_eq!(
        boots.walk,
        bench.walk.id.clone().unwrap(),
        "the real id of the walk, not the one it was played with"
    );
    assert!(standing(&bench, "hose-number").is_computed());
    assert_eq!(standing(&bench, "pads").value_words().as_deref(), Some("4"), "a bare integer or its text");
    let first: Vec<&str> = bench.walk.left().iter().map(|step| step.check.as_str()).collect();
    assert_eq!(
        first[..2],
        ["pins", "safe"],
        "first checks without an answer stay not reached; nothing pauses"
    );
}

#[test]
fn one_bad_answer_and_nothing_is_kept() {
    let mut bench = Bench::fresh(CAR);
    let sheet = [
        answer("dust", "result = \"accept\""),
        answer("dusst", "result = \"accept\""),
        answer("gap", "result = \"accept\"\nvalue = \"1 psi\""),
        answer("gap", "value = \"1 in\""),
        answer("boots", "result = \"accept\"\nof = \"b9\"\ninstrument = \"vernier\""),
        answer("gauge", "value = \"by eye\""),
        "[[reading]]\nkey = \"suppression.bottle.b7.gauge\"\nvalue = \"2 psi\"\n".to_owned(),
        "[[reading]]\nkey = \"suppression.bottle.b1.gauge\"\nvalue = \"2 in\"\n".to_owned(),
    ];
    let said = told(give(&mut bench, &sheet));
    let starts = [
        "sheet.toml:9:9 there is no check dusst: did you mean dust?",
        "sheet.toml:14:9 \"psi\" writes a pressure, and a length belongs here",
        "sheet.toml:16:9 the value is inside its limit, but a value alone does not close",
        "sheet.toml:21:6 the car file has nothing called b9",
        "sheet.toml:22:14 there is no instrument vernier",
        "sheet.toml:24:9 this check may not be accepted by eye",
        "sheet.toml:27:7 the car file has no bottle b7",
        "sheet.toml:31:9 \"in\" writes a length, and a pressure belongs here",
    ];
    assert_eq!(said.len(), starts.len(), "{said:#?}");
    for (said, start) in said.iter().zip(starts) {
        assert!(said.starts_with(start), "{said}\nwanted {start}");
    }
    assert!(bench.records().is_empty() && bench.walk.history.is_empty());
}

#[test]
fn what_is_not_a_sheet_is_told_at_its_place() {
    let mut bench = Bench::fresh(CAR);
    let text = "format = 1\nprofil = \"owner\"\n[[answer]]\nchek = \"dust\"\nresult = \"acept\"\nat = 2026-11-25T10:00:00\n";
    let said = told(give_again(&mut bench, text, false));
    let wanted = [
        "sheet.toml:2:1 unknown key profil",
        "sheet.toml:4:1 unknown key chek",
        "sheet.toml:5:10 \"acept\" is not known here",
        "sheet.toml:6:6 \"2026-11-25T10:00:00\" is not a time",
    ];
    assert_eq!(said, wanted);
}

#[test]
fn a_sheet_is_for_its_own_car_and_profile() {
    let mut bench = Bench::fresh(CAR);
    let text = format!(
        "{}{}",
        HEAD.replace("test-car", "heron").replace("owner", "scales"),
        answer("dust", "result = \"accept\"")
    );
    let said = told(give_again(&mut bench, &text, false));
    let wanted = [
        "sheet.toml:2:7 this sheet is for the car heron, and this is test-car",
        "sheet.toml:4:11 this sheet is for the profile scales, and this is owner",
    ];
    assert_eq!(said, wanted);
    assert!(bench.records().is_empty());
}

#[test]
fn the_same_sheet_again_is_refused_unless_that_is_meant() {
    let mut bench = Bench::fresh(CAR);
    let text = format!("{HEAD}{}", answer("dust", "result = \"accept\""));
    give_again(&mut bench, &text, false).unwrap();
    assert_eq!(told(give_again(&mut bench, &text, false)), ["sheet.toml:1:1 this very file was kept before"]);
    give_again(&mut bench, &text, true).unwrap();
    // A second sheet goes on with the open walk, and is known again too.
    let second = format!("{HEAD}{}", answer("boots", "result = \"accept\""));
    give_again(&mut bench, &second, false).unwrap();
    assert_eq!(bench.walk.history.walks().len(), 1);
    assert_eq!(told(give_again(&mut bench, &second, false)).len(), 1);
    let empty = format!("{HEAD}end = true\n");
    give_again(&mut bench, &empty, false).unwrap();
    assert!(bench.walk.history.walks()[0].ended.is_some());
}

#[test]
fn a_later_answer_supersedes_and_both_stay() {
    let mut bench = Bench::fresh(CAR);
    let sheet = [
        answer("dust", "result = \"reject\""),
        answer("dust", "result = \"repaired\""),
        answer("dust", "result = \"accept\""),
    ];
    give(&mut bench, &sheet).unwrap();
    assert_eq!(standing(&bench, "dust").result, Accept);
    let results: Vec<_> = bench.walk.history.findings().iter().map(|(_, finding)| finding.result).collect();
    assert_eq!(results, [Reject, Repaired, Accept]);
    assert_eq!(standing(&bench, "dust").closes.as_deref(), Some("record-3"), "the real id of the reject");
}

#[test]
fn without_a_result_the_verdict_is_kept_undecided_included() {
    let mut bench = Bench::fresh(CAR);
    give(&mut bench, &[answer("gap", "value = \"0.487 in\"\ninstrument = \"tape\"")]).unwrap();
    assert_eq!(standing(&bench, "gap").result, Undecided);
    give(&mut bench, &[answer("gap", "value = \"by eye\"\nnote = \"held a rod to it\"")]).unwrap();
    assert!(standing(&bench, "gap").by_eye);
    let said = told(give(&mut bench, &[answer("gap", "value = \"1 in\"")]));
    assert!(said[0].contains("a value alone does not close a check"), "{said:?}");
}

#[test]
fn an_accept_over_a_computed_reject_needs_a_note() {
    let mut bench = Bench::fresh(&short_car());
    let said = told(give(&mut bench, &[answer("hose-look", "result = \"accept\"")]));
    assert!(said[0].contains("the program says reject"), "{said:?}");
    give(
        &mut bench,
        &[answer("hose-look", "result = \"accept\"\nnote = \"measured again, the file is old\"")],
    )
    .unwrap();
    assert_eq!(standing(&bench, "hose-look").verdict, Some(Reject));
}

#[test]
fn after_the_last_answer_numbers_reject_only_what_nobody_answered() {
    let mut bench = Bench::fresh(&short_car());
    let sheet = [
        answer("hose-look", "result = \"accept\"\nnote = \"as drawn\""),
        answer("dust", "result = \"accept\""),
    ];
    give(&mut bench, &sheet).unwrap();
    assert_eq!(standing(&bench, "hose-look").by.as_deref(), Some("P.Q."));
    let number = standing(&bench, "hose-number");
    assert_eq!((number.is_computed(), number.of.as_deref()), (true, Some("right-hose")));
    let count = bench.records().len();
    // The next sheet of the same walk does not say it twice.
    give(&mut bench, &[answer("boots", "result = \"accept\"")]).unwrap();
    assert_eq!(bench.records().len(), count + 3, "that the sheet is begun, the answer, that it is whole");
}

#[test]
fn an_answer_about_one_item_is_judged_by_its_own_number_and_leaves_the_others_to_theirs() {
    let mut bench = Bench::on(&short_car());
    let left = answer("hose-number", "of = \"left-hose\"\nresult = \"accept\"");
    give(&mut bench, &[left]).unwrap();
    let history = &bench.walk.history;
    let of = |item: &str| {
        let standings = history.standings_of("hose-number");
        standings.into_iter().find(|one| one.of == Some(item)).unwrap().finding.clone()
    };
    let (left, right) = (of("left-hose"), of("right-hose"));
    assert_eq!((left.result, left.verdict), (Accept, Some(Accept)), "{left:?}");
    assert_eq!((right.result, right.is_computed()), (Reject, true));
    assert_ne!(left.value, right.value);
    let findings = history.findings();
    assert_eq!(findings.iter().filter(|(_, one)| one.check == "hose-number").count(), 2, "one of each hose");
    let other = answer("hose-number", "of = \"rear-line\"\nresult = \"accept\"");
    let said = told(give(&mut bench, &[other]));
    assert!(said[0].contains("hose-number is about left-hose, right-hose, not about rear-line"), "{said:?}");
}

#[test]
fn a_bare_number_means_nothing_on_paper() {
    let mut bench = Bench::sound();
    let said = told(give(&mut bench, &[answer("gap", "result = \"accept\"\nvalue = \"3\"")]));
    assert!(said[0].contains("no unit"), "{said:?}");
}

#[test]
fn any_part_may_be_named_by_who_rejects() {
    let mut bench = Bench::on(&short_car());
    give(&mut bench, &[answer("hose-number", "of = \"b1\"\nresult = \"reject\"")]).unwrap();
    give(&mut bench, &[answer("hose-look", "of = \"b1\"\nresult = \"accept\"")]).unwrap();
    assert!(bench.walk.answered().contains("hose-look"), "of a part that no number of it is of: the check");
}

#[test]
fn an_accept_of_one_item_leaves_the_check_unanswered_for_the_other() {
    let mut bench = Bench::sound();
    let accept = |item: &str| answer("hose-number", &format!("of = \"{item}\"\nresult = \"accept\""));
    give(&mut bench, &[accept("left-hose")]).unwrap();
    assert!(!bench.walk.answered().contains("hose-number"));
    give(&mut bench, &[accept("right-hose")]).unwrap();
    assert!(bench.walk.answered().contains("hose-number"));
}

#[test]
fn an_open_finding_of_a_person_is_not_superseded_by_the_number() {
    let mut bench = Bench::on(&short_car());
    bench.say("hose-number", NotSeen).unwrap();
    bench.act(Action::End).unwrap();
    bench.walk = Walk::new(start(&short_car(), "owner"), bench.walk.history.clone()).unwrap();
    give(&mut bench, &[answer("dust", "result = \"accept\"")]).unwrap();
    assert_eq!(standing(&bench, "hose-number").result, NotSeen);
}

#[test]
fn the_time_on_the_paper_orders_and_the_time_of_entry_stays() {
    let mut bench = Bench::sound();
    // Seen at nine, typed at noon: the screen's answer of ten o'clock is the newer one.
    bench.say("dust", Accept).unwrap();
    give(&mut bench, &[answer("dust", "result = \"reject\"\nat = 2026-11-25T09:00:00Z")]).unwrap();
    assert_eq!(standing(&bench, "dust").result, Accept);
    let (kept, _) =
        bench.walk.history.findings().into_iter().find(|(_, finding)| finding.result == Reject).unwrap();
    assert_eq!(
        (kept.seen_at().to_rfc3339(), kept.at.to_rfc3339()[..13].to_owned()),
        ("2026-11-25T09:00:00+00:00".to_owned(), "2026-11-25T10".to_owned())
    );
    give(&mut bench, &[answer("dust", "result = \"reject\"\nat = 2026-11-25T11:00:00Z")]).unwrap();
    assert_eq!(standing(&bench, "dust").result, Reject);
}

#[test]
fn a_time_after_today_is_told_at_its_place() {
    let mut bench = Bench::sound();
    let year = answer("dust", "result = \"accept\"\nat = 2027-11-25T09:00:00Z");
    let reading = "[[reading]]\nkey = \"suppression.bottle.b1.gauge\"\nvalue = \"360 psi\"\nat = 2027-01-01T09:00:00Z\n";
    let said = told(give(&mut bench, &[reading.to_owned(), year]));
    assert_eq!(said.len(), 2, "{said:?}");
    assert!(said[0].contains("2027-01-01 is not yet: this clock says 2026-11-25"), "{said:?}");
    let vacuum = "[[reading]]\nkey = \"suppression.bottle.b1.gauge\"\nvalue = \"-5 psi\"\n".to_owned();
    let said = told(give(&mut bench, &[vacuum]));
    assert!(said[0].contains("less than zero"), "{said:?}");
}

#[test]
fn an_accept_closes_only_what_was_seen_before_it() {
    let mut bench = Bench::sound();
    bench.say("boots", Reject).unwrap();
    let reject = bench.last_id();
    give(&mut bench, &[answer("boots", "result = \"accept\"\nat = 2026-11-25T08:00:00Z")]).unwrap();
    let accept = bench.walk.history.findings()[0].1.clone();
    assert_eq!((accept.result, accept.closes), (Accept, None), "at eight the boots were not rejected yet");
    assert!(bench.is_open("boots"));
    let said = told(give(&mut bench, &[answer("boots", "result = \"repaired\"\nat = 2026-11-25T08:30:00Z")]));
    assert!(said[0].contains("nothing is open here"), "{said:?}");
    give(&mut bench, &[answer("boots", "result = \"accept\"\nat = 2026-11-25T11:00:00Z")]).unwrap();
    assert_eq!(standing(&bench, "boots").closes, Some(reject));
}

#[test]
fn what_was_seen_after_a_day_does_not_count_on_it() {
    let mut bench = Bench::fresh(CAR);
    let sheet = [
        "[[reading]]\nkey = \"suppression.bottle.b1.gauge\"\nvalue = \"200 psi\"\nat = 2026-11-20T10:00:00-05:00\n",
        "[[reading]]\nkey = \"suppression.bottle.b1.gauge\"\nvalue = \"180 psi\"\nat = 2026-11-24T23:00:00-05:00\n",
        "[[reading]]\nkey = \"suppression.bottle.b1.gauge\"\nvalue = \"190 psi\"\nat = 2026-11-22T10:00:00-05:00\n",
    ];
    give(&mut bench, &sheet.map(str::to_owned)).unwrap();
    let value = |on: &str| {
        let history = bench.walk.history.until(day(on));
        let readings = history.readings();
        readings.get("suppression.bottle.b1.gauge").map(|(_, reading)| reading.value.clone())
    };
    assert_eq!(value("2026-11-19"), None);
    assert_eq!(value("2026-11-21").as_deref(), Some("200 psi"));
    assert_eq!(value("2026-11-23").as_deref(), Some("190 psi"));
    assert_eq!(value("2026-11-25").as_deref(), Some("180 psi"), "the newest by the time it was read");
}

#[test]
fn a_sheet_of_one_sum_is_one_sheet() {
    // FIPS 180-4, SHA-256 of "abc".
    let (paper, _) = read_paper(&SourceFile::new("sheet.toml", "abc"));
    assert_eq!(paper.sha256, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
}

#[test]
fn screen_and_paper_keep_the_same_findings() {
    let mut screen = Bench::fresh(&short_car());
    screen.say("pins", Accept).unwrap();
    screen.say("safe", Accept).unwrap();
    screen.reply(Reply { by_eye: true, ..Reply::plain("gap", Accept) }).unwrap();
    screen.say("dust", Reject).unwrap();
    screen.act(Action::End).unwrap();
    let mut paper = Bench::fresh(&short_car());
    let sheet = [
        "end = true\n".to_owned(),
        answer("pins", "result = \"accept\"\nby = \"A.B.\""),
        answer("safe", "result = \"accept\"\nby = \"A.B.\""),
        answer("gap", "value = \"by eye\"\nby = \"A.B.\""),
        answer("dust", "result = \"reject\"\nby = \"A.B.\""),
    ];
    give(&mut paper, &sheet).unwrap();
    let findings = |bench: &Bench| -> Vec<Finding> {
        let kept = bench.records().iter().filter_map(|kept| match &kept.entry {
            // Which row of the sheet it comes from is all that differs.
            Entry::Finding(finding) => Some(Finding { sheet: None, ..finding.as_ref().clone() }),
            _ => None,
        });
        kept.collect()
    };
    assert_eq!(findings(&screen), findings(&paper));
}

/// A time of the day stands alone where the sheet says its day; without one it is refused at its place.
#[test]
fn a_time_stands_alone_under_a_date() {
    let seen = |bench: &Bench| standing(bench, "dust").seen_at.map(|at| at.to_rfc3339());
    for (written, wanted) in [
        ("\"10:15\"", "2026-11-24T10:15:00+00:00"),
        ("\"2:15 pm\"", "2026-11-24T14:15:00+00:00"),
        ("10:15:30", "2026-11-24T10:15:30+00:00"),
        ("2026-11-23T08:00:00-05:00", "2026-11-23T08:00:00-05:00"),
    ] {
        let mut bench = Bench::sound();
        let sheet = format!(
            "{HEAD}date = 2026-11-24\n{}",
            answer("dust", &format!("result = \"accept\"\nat = {written}"))
        );
        give_again(&mut bench, &sheet, false).unwrap();
        assert_eq!(seen(&bench).as_deref(), Some(wanted), "{written}");
    }
    let mut bench = Bench::sound();
    let alone = told(give(&mut bench, &[answer("dust", "result = \"accept\"\nat = \"10:15\"")]));
    assert!(alone[0].contains("10:15 has no day: add date = 2026-11-25"), "{alone:?}");
    let nonsense = told(give(&mut bench, &[answer("dust", "result = \"accept\"\nat = \"a quarter past\"")]));
    assert!(nonsense[0].contains("is not a time"), "{nonsense:?}");
    give(&mut bench, &[answer("dust", "result = \"accept\"")]).unwrap();
    assert_eq!(seen(&bench), None, "without a time only the time of entry is known");
}

/// A date as it stands on a stamp; what may be two days is refused with both.
#[test]
fn a_date_is_taken_as_people_write_it() {
    use linewalk::source::{date_help, parse_date};
    let day = |text: &str| parse_date(text).map(|day| day.to_string());
    for (text, wanted) in [
        ("2026-03-14", "2026-03-14"),
        ("2026-03", "2026-03-01"),
        ("03/2025", "2025-03-01"),
        ("3/2025", "2025-03-01"),
        ("Mar 2025", "2025-03-01"),
        ("march 2025", "2025-03-01"),
        ("14 Mar 2026", "2026-03-14"),
        ("March 14, 2026", "2026-03-14"),
        ("03/14/2026", "2026-03-14"),
        ("14/3/2026", "2026-03-14"),
        ("5/5/2026", "2026-05-05"),
    ] {
        assert_eq!(day(text).as_deref(), Some(wanted), "{text}");
    }
    for text in [
        "03/04/2026",
        "13/2025",
        "03/25",
        "3/2525",
        "31/02/2026",
        "00/2025",
        "2026/03/14",
        "Smarch 2025",
        "03-2025",
    ] {
        assert_eq!(day(text), None, "{text}");
    }
    assert_eq!(date_help("3/4/2026"), "this may be two days: write 2026-03-04 or 2026-04-03");
    let mut bench = Bench::sound();
    give(&mut bench, &[answer("bottle-date", "result = \"accept\"\nvalue = \"03/2026\"")]).unwrap();
    assert_eq!(standing(&bench, "bottle-date").rows[0].text, "03/2026", "as typed");
}
