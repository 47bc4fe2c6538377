//! Records that stand past the head of their log: whatever they say, they may add to what is wrong and never take from it.

use linewalk::model::doubt::Past;
use linewalk::model::entry::{Entry, Kept, Outcome, Severity};
use linewalk::model::history::History;
use proptest::prelude::*;

use super::logbook::{finding, moment};

const OUTCOMES: [Outcome; 8] = [
    Outcome::Accept,
    Outcome::Reject,
    Outcome::NotSeen,
    Outcome::NotFitted,
    Outcome::NotYet,
    Outcome::Repaired,
    Outcome::Undecided,
    Outcome::Reject,
];

/// What a record says, by small numbers: its kind, check, item, answer, severity, and which record it is about.
type Drawn = (u8, u8, u8, usize, u8, usize);

fn entry(drawn: &Drawn) -> Entry {
    let (kind, check, of, result, severity, about) = *drawn;
    let about = format!("k{about}");
    match kind {
        0 => Entry::Withdrawn { record: about, note: None, by: None },
        1 => Entry::Signed { walk: about, role: "owner".into(), by: "R.N.".into() },
        2 => serde_json::from_value(serde_json::json!({
            "kind": "walk-started", "profile": "scales", "rules": { "id": "base", "edition": "1", "sha256": "0" }
        }))
        .unwrap(),
        _ => {
            let Entry::Finding(mut one) = finding(0.1, "") else { panic!("no finding") };
            one.check = format!("check-{check}");
            one.of = (of > 0).then(|| format!("item-{of}"));
            one.result = OUTCOMES[result];
            one.severity = [Severity::Stop, Severity::Fix, Severity::Note][usize::from(severity)];
            one.closes = (kind == 3).then_some(about);
            Entry::Finding(one)
        }
    }
}

fn drawn() -> impl Strategy<Value = Drawn> {
    (0u8..7, 0u8..2, 0u8..3, 0usize..OUTCOMES.len(), 0u8..3, 1usize..14)
}

/// A check, its item, and what it weighs.
type OpenItem = (String, Option<String>, Severity);

/// Everything that is open, with its severity; and the ids of answers by which nothing is open.
fn state(history: &History) -> (Vec<OpenItem>, Vec<String>) {
    let (mut open, mut settled) = (Vec::new(), Vec::new());
    for one in history.standings() {
        if one.is_open() {
            open.push((one.finding.check.clone(), one.of.map(str::to_owned), one.cause().severity));
        } else {
            settled.push(one.kept.id.clone());
        }
    }
    (open, settled)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, ..ProptestConfig::default() })]

    #[test]
    fn they_never_improve_a_state(records in prop::collection::vec(drawn(), 1..14), share in 0.0f64..1.0) {
        let kept: Vec<Kept> = records
            .iter()
            .zip(1u64..)
            .map(|(drawn, seq)| Kept {
                id: format!("k{seq}"),
                writer: "w".into(),
                seq,
                at: moment(i64::try_from(seq).unwrap()),
                entry: entry(drawn),
            })
            .collect();
        let count = kept.len() as u64;
        let head = (share * kept.len() as f64) as u64;
        let honest = History::fold(kept.iter().filter(|kept| kept.seq <= head).cloned());
        let past = (head < count).then(|| Past { writer: "w".into(), from: head + 1, to: count, sum: "0".into() });
        let whole = History::fold(kept).with_past(past);
        let ((open, settled), (open_now, settled_now)) = (state(&honest), state(&whole));
        for (check, of, severity) in open {
            // A reject of the same item with another severity may stand in its place, never a lesser one.
            let same = open_now.iter().find(|now| now.0 == check && now.1 == of);
            prop_assert!(same.is_some_and(|now| now.2 <= severity), "{check} {of:?} {severity:?}: {open_now:?}");
        }
        for id in settled_now {
            prop_assert!(settled.contains(&id), "{id} settles, and no head vouches for it");
        }
        let closed = |history: &History| {
            let walks = history.walks().into_iter();
            walks.map(|walk| (walk.id.to_owned(), walk.ended, walk.signed.len())).collect::<Vec<_>>()
        };
        let before = closed(&honest);
        for (id, ended, signed) in closed(&whole) {
            let was = before.iter().find(|walk| walk.0 == id).map_or((None, 0), |walk| (walk.1, walk.2));
            prop_assert_eq!((ended, signed), was, "{} is signed or ended by nobody", id);
        }
    }
}
