use super::{Expectation, Finding, TimeOrigin, Verdict, gravest_faults};
use crate::notes::HeardNote;
use crate::units::Beats;

/// Where one expected note was asked and where it was played, to be drawn one above the other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NoteInTime {
    /// Where the note was asked, in beats of the line.
    pub asked: Beats,
    /// Where the note was played, in beats of the asked tempo; `None` where no heard note answers it.
    pub played: Option<Beats>,
}

/// Where each note of an answer was asked and played, if one of the `found` faults that the sentence names is of rhythm, standing still,
/// pace, evenness or swing; else empty, and also where no expected note was answered.
///
/// In tempo the places are those against the beat, unless the delay was not measured or the sentence says that the answer began off its
/// beat. Then, and in free answers, the first expected note that was answered stands where it was asked. `heard` are the notes the verdict
/// was made of.
#[must_use]
pub fn in_time(verdict: &Verdict, asked: &Expectation, heard: &[HeardNote], found: &[Finding]) -> Vec<NoteInTime> {
    let faults = gravest_faults(found);
    if !faults.iter().any(|finding| of_rhythm(finding)) {
        return Vec::new();
    }
    let onset_s = |n: usize| Some(heard.get(verdict.expected.get(n)?.heard?)?.onset.0);
    let beat_s = asked.tempo.beat().0;
    let first = (0..asked.line.notes.len()).find_map(|n| Some(onset_s(n)? - beat_s * asked.line.notes[n].at.0));
    let begun = faults.iter().any(|finding| matches!(finding, Finding::Begun { .. }));
    let zero_s = match asked.clock {
        TimeOrigin::InTempo { beat_zero, .. } if !begun && asked.delay.is_some() => {
            Some((beat_zero + asked.taken_off()).0)
        }
        _ => first,
    };
    let Some(zero_s) = zero_s else { return Vec::new() };
    let one = |(n, note): (usize, &crate::pattern::ExpectedNote)| NoteInTime {
        asked: note.at,
        played: onset_s(n).map(|onset_s| Beats((onset_s - zero_s) / beat_s)),
    };
    asked.line.notes.iter().enumerate().map(one).collect()
}

/// How an answer was not in time, in one of three ways.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OutOfTime {
    /// Ahead: it began too soon, lay before its beats, or was quicker than asked.
    Early,
    /// Behind: it began too late, lay after its beats, or was slower than asked.
    Late,
    /// Ragged within itself: uneven, one note off the pulse, stood still, too little swing, or another rhythm.
    Uneven,
}

/// How an answer was not in time, by the gravest fault of time in `found`, which stands in order of gravity; `None` where no fault among
/// them is of time.
#[must_use]
pub fn out_of_time(found: &[Finding], asked: &Expectation) -> Option<OutOfTime> {
    let by = |late: bool| Some(if late { OutOfTime::Late } else { OutOfTime::Early });
    let one = |finding: &Finding| match finding {
        Finding::Jumped(_) => Some(OutOfTime::Early),
        Finding::Begun { beats } => by(*beats > 0.0),
        Finding::OffTheBeat(late) => by(late.0 > 0.0),
        Finding::Pace(pace) => by(pace.0 < asked.tempo.0),
        _ if of_rhythm(finding) => Some(OutOfTime::Uneven),
        _ => None,
    };
    found.iter().filter(|finding| finding.is_fault()).find_map(one)
}

fn of_rhythm(finding: &Finding) -> bool {
    let free = matches!(finding, Finding::Rhythm(_) | Finding::Hesitations(_));
    let free = free || matches!(finding, Finding::Pace(_) | Finding::PaceMoved(_));
    free || matches!(finding, Finding::Uneven { .. } | Finding::Astray(_) | Finding::Swung { .. })
}
