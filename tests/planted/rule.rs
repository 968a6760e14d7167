//! The rule by which a planted fault counts as told, and what the program says of a sound without a sound card.

use earfirst::outside::files::write_wav;
use earfirst::outside::music::{Reading, Spelling};
use earfirst::outside::notes::{EarSettings, HeardNote, hear_clip};
use earfirst::outside::sound::Clip;
use earfirst::outside::units::{A440, Hertz};
use earfirst::outside::verdict::{Expectation, Finding, findings, judge};
use earfirst::outside::words::Page;
use earfirst::outside::words::reader::Reader;
use earfirst::outside::words::verdict::sentence;

use super::cases::{Case, Planted};
use super::manner::{BEAT_ZERO, Take};

/// Kinds in which nothing was planted.
pub const CLEAN: [&str; 4] = ["dead in time", "as people play", "with squeaks", "a note ten inside the band"];

/// What the program said of an answer.
pub struct Said {
    pub found: Vec<Finding>,
    pub sentence: String,
}

impl Said {
    /// Whether every planted fault is told: at its place, and in the sentence.
    pub fn tells(&self, planted: &[Planted]) -> bool {
        let sentence = self.sentence.to_lowercase();
        let at_its_place = |it: Planted| self.found.iter().any(|one| it.is(one));
        planted.iter().all(|it| at_its_place(*it) && words(*it).iter().any(|word| sentence.contains(word)))
    }

    /// The faults that are told and do not come of what was planted.
    pub fn besides(&self, planted: &[Planted]) -> Vec<&'static str> {
        self.found.iter().filter(|it| !follows(it, planted)).filter_map(fault).collect()
    }
}

/// A fault that the program tells; `None` for what is no fault.
fn fault(found: &Finding) -> Option<&'static str> {
    if !found.is_fault() {
        return None;
    }
    Some(match found {
        Finding::NothingCame { .. } => "nothing came",
        Finding::SomethingElse => "something else",
        Finding::OtherKey(_) => "wrong key",
        Finding::Attempts(_) => "attempts",
        Finding::BrokeOff { .. } => "broke off",
        Finding::Wrong(_) => "wrong",
        Finding::Displaced(_) => "octave",
        Finding::Missed(_) => "missed",
        Finding::Extra(_) => "extra",
        Finding::StruckTwice(_) => "struck twice",
        Finding::TakenUp(_) => "went back",
        Finding::Joined(_) => "joined",
        Finding::Jumped(_) => "jumped",
        Finding::Hesitations(_) => "stood still",
        Finding::Rhythm(_) => "rhythm",
        Finding::Begun { .. } => "begun",
        Finding::OffTheBeat(_) => "off the beat",
        Finding::Pace(_) => "pace",
        Finding::PaceMoved(_) => "pace moved",
        Finding::Swung { .. } => "swung",
        Finding::Uneven { .. } => "uneven",
        Finding::Astray(_) => "astray",
        Finding::OutOfTune(_) => "out of tune",
        Finding::Tuning(_) => "tuning",
        Finding::OtherOctave(_) | Finding::Untimed(_) | Finding::Reflex(_) => return None,
    })
}

/// Words of which a sentence has at least one if it tells the fault.
fn words(planted: Planted) -> &'static [&'static str] {
    match planted {
        Planted::Wrong(..) => &["low", "high", "wrong"],
        Planted::Missed(_) => &["left out", "did not come"],
        Planted::Extra(_) => &["too many"],
        Planted::Octave(..) | Planted::WholeOctave(_) => &["octave"],
        Planted::OtherKey(_) => &["wrong key"],
        Planted::FalseStart => &["attempt"],
        Planted::BrokeOff(_) => &["broke off"],
        Planted::Twice(_) => &["twice"],
        Planted::OutOfTune(_) => &["sharp", "flat"],
        Planted::Uneven => &["uneven"],
        Planted::Late(_) => &["late"],
        Planted::WentBack(..) => &["took it up again"],
        Planted::Begun(_) => &["beat", "bar late"],
        Planted::Rhythm => &["another rhythm", "the rest after", "on the beat"],
    }
}

/// Whether a fault that is told comes of what was planted.
fn follows(found: &Finding, planted: &[Planted]) -> bool {
    planted.iter().any(|it| it.is(found))
        || planted.iter().any(|it| match it {
            // An answer that begins anew has left the beat.
            Planted::FalseStart => matches!(found, Finding::Hesitations(_) | Finding::OffTheBeat(_)),
            // An uneven line may be read with another pace, beat or swing.
            Planted::Uneven => {
                matches!(found, Finding::Pace(_) | Finding::OffTheBeat(_) | Finding::Astray(_) | Finding::Swung { .. })
            }
            Planted::Begun(_) | Planted::Rhythm => matches!(found, Finding::OffTheBeat(_)),
            _ => false,
        })
}

/// What the program's ear hears of a sound; it searches the same range as in a drill.
pub fn hear(take: &Take, clip: &Clip) -> Vec<HeardNote> {
    let (low, high) = (take.instrument.advanced.low.hertz(A440), take.instrument.advanced.high.hertz(A440));
    let (lowest, highest) = (Hertz((low.0 * 0.79).max(27.0)), Hertz((high.0 * 1.26).min(4300.0)));
    hear_clip(&EarSettings { rate: clip.rate, lowest, highest, a4: A440 }, clip)
}

/// What the program says of notes, where this was asked.
pub fn said_of(take: &Take, asked: &Expectation, heard: &[HeardNote]) -> Said {
    let verdict = judge(asked, heard);
    let page = Page::new(take.instrument.clone(), Reading::default());
    let reader =
        Reader { page: &page, key: take.key, spelling: Spelling::default(), calibrated: true, usual_tempo: false };
    Said { found: findings(&verdict, asked), sentence: sentence(&verdict, asked, heard, &reader, &[]) }
}

/// Keeps a sound in the folder that `EARFIRST_WAV` names, under this name.
pub fn keep(clip: &Clip, name: &str) {
    let Some(folder) = std::env::var_os("EARFIRST_WAV") else { return };
    write_wav(&std::path::Path::new(&folder).join(format!("{name}.wav")), clip).unwrap();
}

/// The strokes of a case and what was heard of them, each with its pitch, its onset after beat 0 and its length in hundredths of a second.
pub fn beside(case: &Case, heard: &[HeardNote]) -> String {
    let hundredths = |seconds: f64| (100.0 * seconds).round();
    let played = case
        .take
        .strokes()
        .into_iter()
        .map(|it| format!("{:.1}@{}+{}", it.pitch, hundredths(it.at - BEAT_ZERO), hundredths(it.length)));
    let came = heard.iter().map(|it| {
        let (at, length) = (it.onset.0 - BEAT_ZERO, it.release.0 - it.onset.0);
        format!("{:.1}@{}+{}({:.2})", it.pitch.0, hundredths(at), hundredths(length), it.confidence)
    });
    let (played, came): (Vec<String>, Vec<String>) = (played.collect(), came.collect());
    format!("\n        played {}\n        heard  {}", played.join(" "), came.join(" "))
}
