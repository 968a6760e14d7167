use super::{Recurring, again, beside, faults, places, rhythm, time, tuning};
use crate::music::{ConcertKey, HalfSteps, PitchClass};
use crate::notes::HeardNote;
use crate::units::{Beats, Seconds};
use crate::verdict::{
    self, Astray, Expectation, Finding, Hesitation, PaceMove, PaceTurn, TimeOrigin, UsualTuning, Verdict, findings,
};
use crate::words::numbers::{capital, count, distance, list, ordinal};
use crate::words::reader::Reader;

/// Largest reflex time that is quick, in seconds.
const QUICK_S: f64 = 0.6;
/// Largest reflex time that is not slow, in seconds.
const SLOW_S: f64 = 1.5;
/// Time, in seconds, above which a time is said in seconds and not in milliseconds.
const LONG_S: f64 = 0.95;
/// An answer within this time of its beats is in time (Repp 2005, from memory).
const IN_TIME: Seconds = Seconds(0.03);

/// The remark on an answer in time without a fault; it stands beside the count of right notes.
const AND_IN_TIME: &str = " and in time";

/// One plain sentence about an answer: what came out, and at most two faults, the gravest first; beside these, that it is a second attempt,
/// that it came in another octave and that it began too soon.
///
/// It is computed from the verdict (by [`findings`]) and from the faults of this pattern that were `named` in this sitting because they
/// came back, so the same facts never give two different sentences. A note out of tune by such a named fault is not mentioned again, so
/// that the next remark has its turn. A note wrong or left out is told though its fault was named, or the count would not be explained.
#[must_use]
pub fn sentence(
    verdict: &Verdict,
    asked: &Expectation,
    heard: &[HeardNote],
    reader: &Reader,
    named: &[Recurring],
) -> String {
    let mut found = findings(verdict, asked);
    for finding in &mut found {
        if let Finding::OutOfTune(notes) = finding {
            notes.retain(|(note, cents)| !named.iter().any(|fault| fault.out_of_tune(*note, *cents)));
        }
    }
    found.retain(|finding| !matches!(finding, Finding::OutOfTune(notes) if notes.is_empty()));
    let said = match found.first() {
        Some(Finding::NothingCame { strays: false }) => "no note was heard, so nothing is scored".to_owned(),
        Some(Finding::NothingCame { strays: true }) => {
            "only stray sounds were heard, no note; nothing is scored".to_owned()
        }
        Some(Finding::SomethingElse) => "that was not the line that was asked, so it is not scored".to_owned(),
        Some(Finding::OtherKey(by)) => other_key(*by, &found, &About { verdict, asked, heard, reader }),
        _ => {
            in_key(&found, &About { verdict, asked, heard, reader }) + &again::first_time(verdict, asked, heard, reader)
        }
    };
    capital(&said) + "."
}

/// What a sentence is about.
#[derive(Clone, Copy)]
struct About<'a> {
    verdict: &'a Verdict,
    asked: &'a Expectation,
    /// The notes the verdict was made of.
    heard: &'a [HeardNote],
    reader: &'a Reader<'a>,
}

fn other_key(by: HalfSteps, found: &[Finding], about: &About) -> String {
    let About { verdict, asked, reader, heard } = *about;
    let played = ConcertKey(PitchClass::new(reader.key.0.get() + by.0));
    let asked_in = reader.key(reader.key).to_string();
    let keys = format!(
        "you played in {}, the cue asked for {}{}",
        reader.key(played),
        reader.key(reader.key),
        again::attempts(verdict)
    );
    // In the key that was played a note has its own name, and its own spelling.
    let (asked, reader) = (
        &Expectation { line: asked.line.transposed(verdict.shift), ..asked.clone() },
        &Reader { key: played, ..*reader },
    );
    let about = &About { asked, reader, ..*about };
    let said = match faults::clauses(found.iter(), verdict, asked, heard, reader).first() {
        None if verdict.right == verdict.of => format!("right shape, wrong key: {keys}"),
        Some(fault) => return format!("wrong key: {keys}; in that key {fault}"),
        None => format!("wrong key: {keys}; {}", broke_off(verdict, found).unwrap_or_else(|| tally(verdict))),
    };
    let of = |it: &Finding| match it {
        Finding::Tuning(cents) => tuning::between_keys(verdict.shift, *cents, &asked_in),
        _ => None,
    };
    let time = verdict::gravest_faults(found).into_iter().find_map(|it| of(it).or_else(|| time_or_tuning(it, about)));
    time.map_or(said.clone(), |fault| format!("{said}; {fault}"))
}

fn in_key(found: &[Finding], about: &About) -> String {
    let About { verdict, asked, heard, reader } = *about;
    let faults = faults::clauses(verdict::gravest_faults(found).into_iter(), verdict, asked, heard, reader);
    let extras_only = verdict.right == verdict.of && !faults.is_empty();
    let mut said = match (broke_off(verdict, found), faults.first()) {
        (Some(broke), None) => broke,
        (Some(broke), Some(fault)) => format!("{broke}, and {fault}"),
        (None, None) => tally(verdict),
        (None, Some(fault)) => {
            let joint = if extras_only { ", but" } else { ":" };
            let second = faults.get(1).map_or(String::new(), |second| format!(", and {second}"));
            format!("{}{joint} {fault}{second}", tally(verdict))
        }
    };
    let clean = faults.is_empty() && broke_off(verdict, found).is_none();
    said += &again::attempts(verdict);
    let octave = found.iter().find_map(|it| if let Finding::OtherOctave(by) = it { Some(octave(*by)) } else { None });
    let octave = octave.unwrap_or_default();
    // An answer is called in time only where early or late was measured; a lateness too small to be a fault may still not be in time.
    let in_time = verdict.untimed.is_none() && verdict.late.is_some_and(|late| late.abs() <= IN_TIME);
    match remark(found, about, clean, in_time).as_str() {
        AND_IN_TIME => said + AND_IN_TIME + &octave,
        // Behind a fault the octave would seem to be that of the fault.
        remark if !clean && !octave.is_empty() => {
            format!("{said}; all of it{}{remark}", octave.trim_start_matches(','))
        }
        remark => said + &octave + remark,
    }
}

fn octave(by: HalfSteps) -> String {
    format!(", {} {} than asked", distance(by), if by.0 < 0 { "lower" } else { "higher" })
}

/// How many notes were right: "seven of eight", "all eight right", "right" for a single note.
fn tally(verdict: &Verdict) -> String {
    match (verdict.right, verdict.of) {
        (1, 1) => "right".to_owned(),
        (right, of) if right == of => format!("all {} right", count(of as usize)),
        (right, of) => format!("{} of {}", count(right as usize), count(of as usize)),
    }
}

fn broke_off(verdict: &Verdict, found: &[Finding]) -> Option<String> {
    let after =
        found.iter().find_map(|finding| if let Finding::BrokeOff { after } = finding { Some(*after) } else { None })?;
    let right = verdict.right as usize;
    let how = match right {
        _ if right == after && after == 1 => "; it was right".to_owned(),
        _ if right == after => format!("; those {} were right", count(after)),
        _ => format!(", {} of those {} right", count(right), count(after)),
    };
    Some(format!("broke off after the {} note{how}", ordinal(after.saturating_sub(1))))
}

/// The clauses about time, tuning and reflex. An answer that began too soon always says so, for that is why none of its times counts.
fn remark(found: &[Finding], about: &About, clean: bool, in_time: bool) -> String {
    let About { asked, reader, .. } = *about;
    let reflex = found.iter().find_map(|finding| if let Finding::Reflex(time) = finding { Some(*time) } else { None });
    let mut of_time: Vec<&Finding> =
        verdict::gravest_faults(found).into_iter().filter(|it| time_or_tuning(it, about).is_some()).collect();
    let jumped = found.iter().find(|it| matches!(it, Finding::Jumped(_)));
    of_time.extend(jumped.filter(|it| !of_time.contains(it)));
    if of_time.is_empty() && clean {
        of_time.extend(found.iter().find(|it| matches!(it, Finding::Swung { .. })));
    }
    let clauses = match &of_time[..] {
        [Finding::OutOfTune(notes), Finding::Tuning(whole)] if asked.usual == UsualTuning::Unknown => {
            tuning::one_in_tune(notes, *whole, asked, reader).map(|said| vec![said])
        }
        _ => None,
    };
    let clauses =
        clauses.unwrap_or_else(|| of_time.into_iter().filter_map(|it| time_or_tuning(it, about)).collect::<Vec<_>>());
    let fault = (!clauses.is_empty()).then(|| clauses.join(", and "));
    match (fault, reflex) {
        (Some(fault), Some(time)) if clean => format!(", {}; {fault}", begun(time, reader)),
        (Some(fault), _) => format!("; {fault}"),
        (None, Some(time)) if clean && time.0 <= QUICK_S => format!(", and {}", begun(time, reader)),
        (None, Some(time)) if clean && time.0 > SLOW_S => format!(", but {}", begun(time, reader)),
        (None, Some(time)) if clean => format!(", {}", begun(time, reader)),
        (None, Some(time)) => format!("; {}", begun(time, reader)),
        (None, None) if clean && in_time => AND_IN_TIME.to_owned(),
        (None, None) => String::new(),
    }
}

fn in_tempo(asked: &Expectation) -> bool {
    matches!(asked.clock, TimeOrigin::InTempo { .. })
}

fn time_or_tuning(finding: &Finding, about: &About) -> Option<String> {
    let About { verdict, asked, heard, reader } = *about;
    match finding {
        Finding::Jumped(time) if time.0 < 0.0 => {
            Some("you jumped the cue, before it had ended, so the time is not counted".to_owned())
        }
        Finding::Jumped(_) => {
            Some("you jumped the cue, too soon to have heard it out, so the time is not counted".to_owned())
        }
        Finding::Rhythm(played) => {
            let held = |note: usize| {
                let heard = heard.get(verdict.expected.get(note)?.heard?)?;
                Some(Beats(heard.length().0 / verdict.pace?.beat().0))
            };
            Some(rhythm::other_rhythm(played, asked, &held))
        }
        Finding::Begun { beats } => Some(came_in(*beats)),
        Finding::Joined(notes) => Some(joined(notes)),
        Finding::Hesitations(stood) => Some(stood_still(stood, about)),
        Finding::Pace(pace) => {
            let word = match (in_tempo(asked), pace.0 > asked.tempo.0) {
                (_, false) if reader.usual_tempo => "slower than usual,",
                (true, true) => "rushed to",
                (true, false) => "dragged to",
                (false, true) => "played at",
                (false, false) => "slower than asked,",
            };
            let held_to = if reader.usual_tempo { "is usual" } else { "was asked" };
            Some(format!("{word} quarter = {:.0} where {:.0} {held_to}", pace.0, asked.tempo.0))
        }
        Finding::PaceMoved(moved) => Some(pace_moved(moved)),
        Finding::OffTheBeat(late) => Some(match time::both_ends(verdict, &asked.line, asked.tempo) {
            Some((begun, ended)) => format!("you came in {begun} and were {ended} by the end"),
            None => format!("about {} {} throughout", near(late.abs()), if late.0 < 0.0 { "early" } else { "late" }),
        }),
        Finding::Swung { played, asked } => Some(swung(*played, *asked)),
        Finding::Uneven { by, beats } => Some(uneven(*by, *beats, about)),
        Finding::Astray(notes) => astray(notes, asked, reader),
        Finding::OutOfTune(notes) => tuning::out_of_tune(notes, asked, reader),
        Finding::Tuning(cents) if asked.usual == UsualTuning::Unknown => Some(tuning::as_a_whole(*cents, reader)),
        Finding::Tuning(cents) => Some(tuning::beyond_usual(*cents, reader)),
        Finding::NothingCame { .. }
        | Finding::SomethingElse
        | Finding::OtherKey(_)
        | Finding::Attempts(_)
        | Finding::BrokeOff { .. }
        | Finding::Wrong(_)
        | Finding::Displaced(_)
        | Finding::Missed(_)
        | Finding::Extra(_)
        | Finding::StruckTwice(_)
        | Finding::TakenUp(_)
        | Finding::OtherOctave(_)
        | Finding::Untimed(_)
        | Finding::Reflex(_) => None,
    }
}

/// How far the notes lie from the pulse; of a swing that turned, where it did.
fn uneven(by: Seconds, beats: f64, about: &About) -> String {
    if let Some((from, swung)) = verdict::swing_turned(about.verdict, &about.asked.line) {
        let (before, after) = if swung { ("straight", "swung") } else { ("swung", "straight") };
        return format!("{before} up to the {} note, {after} from the {} on", ordinal(from - 1), ordinal(from));
    }
    // Both are said of the same time, the one that is told in ms.
    let hundredths = 100.0 * beats * tens_of_ms(by) / by.ms();
    format!("uneven, notes some {} ({hundredths:.0} % of a beat) from the pulse", near(by))
}

/// How the pace moved: "you slowed down from the fifth note on, from quarter = 120 to 88".
fn pace_moved(PaceMove { from, to, at }: &PaceMove) -> String {
    let way = if to.0 < from.0 { "slowed down" } else { "sped up" };
    let place = match at {
        PaceTurn::Steadily => String::new(),
        PaceTurn::AtOnce(at) => format!(" at the {} note", ordinal(*at)),
        PaceTurn::From(at) => format!(" from the {} note on", ordinal(*at)),
    };
    format!("you {way}{place}, from quarter = {:.0} to {:.0}", from.0, to.0)
}

/// One note or two that came early or late: "the third note, E, came 120 ms late, and the seventh note, E, 90 ms early".
fn astray(notes: &[Astray], asked: &Expectation, reader: &Reader) -> Option<String> {
    let side = |it: &Astray| if it.by.0 < 0.0 { "early" } else { "late" };
    let note = |it: &Astray| places::named(it.note, asked, reader);
    let first = notes.first()?;
    let said = format!("{} came {} {}", note(first), near(first.by.abs()), side(first));
    Some(
        notes[1..].iter().fold(said, |said, it| format!("{said}, and {} {} {}", note(it), near(it.by.abs()), side(it))),
    )
}

/// How early or late the player came in, in halves of a beat: "you came in a beat and a half late".
fn came_in(beats: f64) -> String {
    let side = if beats < 0.0 { "early" } else { "late" };
    let halves = (2.0 * beats.abs()).round() as usize;
    let (whole, half) = (halves / 2, halves % 2 == 1);
    let far = match (whole, half) {
        (0, _) => "half a beat".to_owned(),
        (1, false) => "a beat".to_owned(),
        (1, true) => "a beat and a half".to_owned(),
        (whole, false) => format!("{} beats", count(whole)),
        (whole, true) => format!("{} and a half beats", count(whole)),
    };
    format!("you came in {far} {side}")
}

fn stood_still(stood: &[Hesitation], about: &About) -> String {
    let About { verdict, asked, heard, reader } = *about;
    let longest = stood.iter().map(|one| one.by.0).fold(0.0, f64::max);
    match stood {
        [one] if let Some((on, held)) = beside::sounds_on(heard, verdict, one.before) => {
            let (note, by) = (places::named(on, asked, reader), format!("{longest:.1} s"));
            format!("you {}", beside::too_long(held, &note, &by))
        }
        [one] => format!("you stood still before {} for {longest:.1} s", places::named(one.before, asked, reader)),
        more => {
            let before: Vec<usize> = more.iter().map(|one| one.before).collect();
            format!("you stood still before {}, {longest:.1} s at the longest", places::together(&before))
        }
    }
}

/// Below this ratio of the first to the second eighth of a beat, a line that should swing was played short-long rather than straight.
const SHORT_LONG: f64 = 0.75;

/// The ratio of long to short eighths that was played, against the ratio asked.
fn swung(played: f64, asked: f64) -> String {
    if played < SHORT_LONG || played < 1.0 && asked < 1.05 {
        let wanted = if asked < 1.05 { "even eighths were".to_owned() } else { format!("{asked:.1} to 1 was") };
        format!("the off-beats came early: short-long, {played:.1} to 1 where {wanted} asked")
    } else if asked < 1.05 {
        format!("swung, long to short {played:.1} to 1")
    } else if played < 1.15 {
        format!("played straight where long to short {asked:.1} to 1 was asked")
    } else {
        format!("swung {played:.1} to 1 where {asked:.1} to 1 was asked")
    }
}

/// A time in tens of milliseconds, for nobody hears less in an even row (Friberg and Sundberg 1995, from memory); a long one in seconds.
fn near(time: Seconds) -> String {
    if time.0 > LONG_S { format!("{:.1} s", time.0) } else { format!("{:.0} ms", tens_of_ms(time)) }
}

fn tens_of_ms(time: Seconds) -> f64 {
    (time.ms() / 10.0).round() * 10.0
}

fn joined(notes: &[usize]) -> String {
    match notes {
        [one] => format!("the {} and {} were held as one", ordinal(one.saturating_sub(1)), ordinal(*one)),
        many => format!(
            "the {} were joined to the notes before",
            list(&many.iter().map(|n| ordinal(*n)).collect::<Vec<_>>())
        ),
    }
}

/// How soon the answer was begun, in the same words wherever they stand.
fn begun(begun: Seconds, reader: &Reader) -> String {
    let time = reader.page.reflex(begun);
    let said = match begun.0 {
        quick if quick <= QUICK_S => format!("quick to begin: {time}"),
        slow if slow > SLOW_S => format!("slow to begin: {time}"),
        _ => format!("{time} to begin"),
    };
    if reader.calibrated { said } else { format!("{said} (not calibrated)") }
}
