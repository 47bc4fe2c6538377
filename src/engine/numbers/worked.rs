//! Every number of a car with its band, worked out once for one car file, its readings and a day.

use std::fmt::Write as _;
use std::sync::{Arc, LazyLock, Mutex, OnceLock, PoisonError};

use sha2::{Digest, Sha256};

use crate::diagnostic::SourceFile;
use crate::source::{Override, Overrides};

use super::answer::Answer;
use super::bands::{POINTS, with_draws};
use super::draws::Limited;
use super::registry::work_all;
use super::situation::Situation;

/// Cars whose numbers are remembered: more than anybody goes back and forth between.
const REMEMBERED: usize = 32;

type Key = [u8; 32];
type Slot = Arc<OnceLock<Arc<Vec<Answer>>>>;
type Remembered = Vec<(Key, Slot)>;

/// Bands take half a second, and the walk, the list and the report of one car all want them. Who asks for some that are
/// being worked out already waits for those.
static LAST: LazyLock<Mutex<Remembered>> = LazyLock::new(Mutex::default);

/// Limits that are worked out of the numbers themselves, as rules have them.
pub struct WorkedLimits<'a> {
    /// What they say, to tell them from those of other rules.
    pub mark: String,
    /// Which numbers of a car they hold, and what they are worked out of there.
    pub of: &'a dyn Fn(&[Answer]) -> Vec<Limited>,
}

/// Every number of the car of a file under some overrides, each with its band where it has one.
pub fn worked(
    file: &Arc<SourceFile>,
    overrides: &Overrides,
    situation: &Situation<'_>,
    limits: &WorkedLimits<'_>,
) -> Arc<Vec<Answer>> {
    let slot = slot(key(file, overrides, situation, &limits.mark));
    let work = || {
        let answers = work_all(situation);
        let limited = (limits.of)(&answers);
        Arc::new(with_draws(file, overrides, situation, answers, &limited, POINTS))
    };
    Arc::clone(slot.get_or_init(work))
}

/// The same where they are worked out already.
pub fn worked_before(
    file: &SourceFile,
    overrides: &Overrides,
    situation: &Situation<'_>,
    limits: &WorkedLimits<'_>,
) -> Option<Arc<Vec<Answer>>> {
    slot(key(file, overrides, situation, &limits.mark)).get().cloned()
}

fn slot(key: Key) -> Slot {
    let mut last = LAST.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some((_, slot)) = last.iter().find(|(known, _)| *known == key) {
        return Arc::clone(slot);
    }
    if last.len() >= REMEMBERED {
        last.remove(0);
    }
    let slot = Slot::default();
    last.push((key, Arc::clone(&slot)));
    slot
}

/// Everything that the numbers hang on.
fn key(file: &SourceFile, overrides: &Overrides, situation: &Situation<'_>, limits: &str) -> Key {
    let mut text = format!("{}\0{}\0{limits}", file.text, situation.on);
    for (path, value) in overrides {
        // Writing to a string cannot fail.
        let _ = match value {
            Override::Typed(typed, _) => write!(text, "\0{path}={typed}"),
            Override::Si(si) => write!(text, "\0{path}={:x}", si.to_bits()),
        };
    }
    for (path, reading) in situation.readings.iter() {
        let [half, repeat] = [reading.half_width, reading.repeat].map(|width| width.map(f64::to_bits));
        let tool = &reading.instrument;
        let _ =
            write!(text, "\0{path}:{}:{:x}:{half:?}:{repeat:?}:{tool:?}", reading.text, reading.si.to_bits());
    }
    Sha256::digest(text.as_bytes()).into()
}
