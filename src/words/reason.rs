//! Why this key now: one true sentence from the numbers that chose the key, with the key as the player's page names it.

use crate::coach::{ApartStage, Goals, Holds, LATELY, Reason};
use crate::music::{ConcertKey, Mode};
use crate::units::{Seconds, Tempo};
use crate::verdict::TempoStep;
use crate::words::{Page, in_use, numbers};

/// The reason says how many of the latest tries passed where fewer than this share of them did. A key whose tempo has settled passes
/// nearly every other time (`coach/ladder.rs`), so a share near a half is nothing to be told.
const FEW_PASSES: f64 = 0.4;
/// The goal that is proposed once every key holds is the old one times this: five per cent more.
const RAISE: f64 = 1.05;
/// The days of the week. `THURSDAY` is the place of Thursday among them: 1970-01-01, day 0 of all dates here, was one.
const WEEK: [&str; 7] = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];
const THURSDAY: i32 = 3;

/// The full sentence. `key` is the key that was chosen, as it sounds, and `mode` the mode of the pattern. `today`, in days since
/// 1970-01-01, is given where the sentence may name a day of the week.
#[must_use]
pub fn sentence(reason: &Reason, key: ConcertKey, mode: Mode, page: &Page, today: Option<i32>) -> String {
    let key = page.key(key, mode);
    match *reason {
        Reason::Meeting { left: 0 } => format!("New pattern: {key}."),
        Reason::Meeting { left } => {
            let answers = if left == 1 { "one answer".to_owned() } else { format!("{} answers", count(left)) };
            format!("New pattern: {answers} in {key} before the other keys come in.")
        }
        Reason::Opening { days: None } => format!("{key} for the first time."),
        Reason::Opening { days: Some(days @ 2..) } => format!("{key} is back today, {}.", since(days, today)),
        Reason::Opening { .. } => format!("First {key} today."),
        Reason::OpeningHere { days: None } => format!("{key} for the first time in this pattern."),
        Reason::OpeningHere { days: Some(days) } => {
            format!("{key} is back today in this pattern, where it was {}.", since(days, today))
        }
        Reason::HeldOut { .. } => {
            format!("{key} is held out of practice; once a week it is asked, to hear whether it comes all the same.")
        }
        Reason::Guard { cues } => format!("{cues} cues since {key}."),
        Reason::Untried { cues: 0 } => format!("{key} for the first time in this pattern."),
        Reason::Untried { cues } => {
            format!("{key} was asked {} in this pattern and not answered yet.", times(cues))
        }
        Reason::Need { .. } => format!("{key}: {}; so it comes more often.", needs(reason, page).join("; ")),
        Reason::Seldom { cues } => format!(
            "{key} after {} in this pattern: it goes better than your average key, so it comes less often.",
            cues_in_words(cues)
        ),
        Reason::Rested { cues, passed } => {
            let passed = if passed == 0 { "none passed".to_owned() } else { format!("{} passed", count(passed)) };
            format!(
                "{key}: asked {cues} times today in this pattern, {passed}. Check the sound, or slow it by hand; it comes seldom for the rest of today."
            )
        }
        Reason::Joins { others: 1 } => format!("{key} joins: the other one holds."),
        Reason::Joins { others } => format!("{key} joins: the other {} hold.", count(others)),
        Reason::Even => format!("{key}, in turn: every key of this pattern is at your goal."),
        Reason::Turn => format!("{key}, in turn."),
        Reason::WeakJoin { broke, tries, days } => {
            format!("This join {}, so it comes more often.", in_use::broke(broke, tries, days))
        }
        Reason::WeakKey { broke, tries, days } => {
            format!("{key}: phrases {}, so it comes first.", in_use::broke(broke, tries, days))
        }
        Reason::NeverUsed { held, choruses } => format!(
            "It begins with a pattern that holds in {} and came in none of {}, so it comes into phrases.",
            numbers::counted(held as usize, "key"),
            numbers::counted(choruses as usize, "free chorus")
        ),
        Reason::Again { slower: false } => format!("{key} again."),
        Reason::Again { slower: true } => format!("{key} again, slower."),
        Reason::Apart { stage: ApartStage::Slower } => {
            format!("{key} went down three times, so it is taken apart: slower first. None of it counts.")
        }
        Reason::Apart { stage: ApartStage::FirstHalf } => format!("{key}, the first half alone."),
        Reason::Apart { stage: ApartStage::SecondHalf } => format!("{key}, the second half alone."),
        Reason::Apart { stage: ApartStage::Seam } => format!("{key}, where the halves meet."),
        Reason::Apart { stage: ApartStage::Whole } => format!("{key}, the whole again."),
        Reason::Closing => format!("{key} to close: it goes well."),
    }
}

/// The reason in a few words for a screen: "B, first time today". The arguments are those of [`sentence`].
#[must_use]
pub fn short(reason: &Reason, key: ConcertKey, mode: Mode, page: &Page, today: Option<i32>) -> String {
    let key = page.key(key, mode);
    match *reason {
        Reason::Meeting { .. } => format!("{key}, new pattern"),
        Reason::Opening { days: None } => format!("{key}, for the first time"),
        Reason::Opening { days: Some(days @ 2..) } => format!("{key}, {}", since(days, today)),
        Reason::Opening { .. } => format!("{key}, first time today"),
        Reason::Guard { cues } => format!("{key}, {} since the last", cues_in_words(cues)),
        Reason::OpeningHere { days: None } | Reason::Untried { cues: 0 } => {
            format!("{key}, for the first time in this pattern")
        }
        Reason::OpeningHere { days: Some(days) } => format!("{key}, in this pattern {}", since(days, today)),
        Reason::Untried { .. } => format!("{key}, not answered yet"),
        Reason::Need { .. } => format!("{key}, {}", needs(reason, page).remove(0)),
        Reason::Seldom { .. } | Reason::Even | Reason::Turn => format!("{key}, its turn"),
        Reason::WeakJoin { .. } => "a join that broke".to_owned(),
        Reason::WeakKey { .. } => format!("{key}, where phrases broke"),
        Reason::NeverUsed { .. } => "what you hold and never use".to_owned(),
        Reason::Rested { .. } => format!("{key}, seldom for today"),
        Reason::Joins { .. } => format!("{key} joins"),
        Reason::HeldOut { .. } => format!("{key}, held out, once a week"),
        Reason::Again { slower: false } => format!("{key} again"),
        Reason::Again { slower: true } => format!("{key} again, slower"),
        Reason::Apart { stage: ApartStage::Slower } => format!("{key} taken apart: slower"),
        Reason::Apart { stage: ApartStage::FirstHalf } => format!("{key}, first half"),
        Reason::Apart { stage: ApartStage::SecondHalf } => format!("{key}, second half"),
        Reason::Apart { stage: ApartStage::Seam } => format!("{key}, the seam"),
        Reason::Apart { stage: ApartStage::Whole } => format!("{key}, whole again"),
        Reason::Closing => format!("{key} to close"),
    }
}

/// What is said of an answer that the player contests.
pub const CONTESTED: &str = "Misheard, you say: it does not count, and the record says so.";

/// What is said when the cue and the answer are about to be played back.
pub const PLAYS_BACK: &str = "Now: the cue, then what came out.";

/// What an answer does to the tempo of its key: "up to 78". The key was asked at `asked` and is asked at `next` from now on. `doubted`
/// says that the tempo stays only because the ear was not sure of what it heard.
#[must_use]
pub fn moved(step: TempoStep, asked: Tempo, next: Tempo, doubted: bool) -> String {
    let (asked, next) = (asked.0.round(), next.0.round());
    match step {
        TempoStep::Up if next > asked => format!("up to {next}"),
        TempoStep::Up => format!("{next} stands: no faster is asked"),
        TempoStep::Stay if doubted => "not surely heard: same tempo".to_owned(),
        TempoStep::Stay => "not yet: same tempo".to_owned(),
        TempoStep::Down if next < asked => format!("slower: {next}"),
        TempoStep::Down => format!("{next} again: no slower is asked"),
    }
}

/// What an answer did to the tempo of its key, in one or two words, for an answer in a list.
#[must_use]
pub const fn moved_in_short(step: TempoStep) -> &'static str {
    match step {
        TempoStep::Up => "up",
        TempoStep::Stay => "same tempo",
        TempoStep::Down => "slower",
    }
}

/// What is said when every key of the plan holds. `keys` is their number; `how` is the weakest way in which one of them holds.
#[must_use]
pub fn all_hold(keys: usize, how: Holds, goals: &Goals) -> String {
    let goal = (goals.tempo.0 * RAISE).round();
    let (who, hold) = match keys {
        1 => ("Your one key".to_owned(), "holds"),
        2 => ("Both keys".to_owned(), "hold"),
        more => (format!("All {} keys", numbers::count(more)), "hold"),
    };
    let how = if how == Holds::InTempo { " in tempo" } else { "" };
    format!("{who} {hold}{how}. Raise the goal to quarter = {goal}, or take the next pattern.")
}

/// Phrases with the numbers behind a [`Reason::Need`], the most telling first, at least one; one empty phrase for any other reason.
fn needs(reason: &Reason, page: &Page) -> Vec<String> {
    let Reason::Need { reflex, middle, aim, tempo, goal, passed, tries } = *reason else { return vec![String::new()] };
    let tenth = |time: Seconds| page.reflex(time);
    let beyond = |other: Seconds| reflex.is_some_and(|time| time > other && tenth(time) != tenth(other));
    let mut reasons = Vec::new();
    match (reflex, middle.filter(|time| beyond(*time)), aim.filter(|time| beyond(*time))) {
        (Some(time), Some(middle), _) => {
            reasons.push(format!("reflex {}, your middle key {}", tenth(time), tenth(middle)))
        }
        (Some(time), None, Some(aim)) => reasons.push(format!("reflex {}, your goal {}", tenth(time), tenth(aim))),
        _ => {}
    }
    if tempo.0.round() < goal.0.round() {
        reasons.push(format!("asked at {}, your goal {:.0}", page.tempo(tempo), goal.0));
    }
    if f64::from(passed) < FEW_PASSES * f64::from(tries) || reasons.is_empty() {
        reasons.push(lately(passed, tries));
    }
    reasons
}

fn lately(passed: u32, tries: u32) -> String {
    match (passed, tries) {
        (0, 1) => "the latest try did not pass".to_owned(),
        (0, _) => format!("none of the latest {} tries passed", count(tries)),
        // With as many as are kept, the number is no total.
        _ if passed == tries && (tries as usize) < LATELY => format!("answered {} so far", times(tries)),
        _ if passed == tries => format!("all of the latest {} tries passed", count(tries)),
        _ => format!("{} of the latest {} tries passed", count(passed), count(tries)),
    }
}

/// A number of times in words: "once", "twice", "three times".
fn times(number: u32) -> String {
    match number {
        1 => "once".to_owned(),
        2 => "twice".to_owned(),
        more => format!("{} times", count(more)),
    }
}

/// How long a key was not asked: "not asked since Tuesday" from two to six days where `today` is given, else "not asked for nine days".
#[must_use]
pub fn since(days: i32, today: Option<i32>) -> String {
    not_done_since("asked", days, today)
}

/// How long something was not `done`, in the form of [`since`]: "not answered for nine days".
#[must_use]
pub fn not_done_since(done: &str, days: i32, today: Option<i32>) -> String {
    match today {
        Some(today) if (2..7).contains(&days) => {
            let day = (today.saturating_sub(days).rem_euclid(7) + THURSDAY) % 7;
            format!("not {done} since {}", WEEK[day as usize])
        }
        _ => format!("not {done} for {} days", count(days.unsigned_abs())),
    }
}

fn cues_in_words(cues: u32) -> String {
    if cues == 1 { "one cue".to_owned() } else { format!("{cues} cues") }
}

fn count(number: u32) -> String {
    numbers::count(number as usize)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A Thursday: 1970-01-01 (ISO 8601 calendar).
    const TODAY: Option<i32> = Some(0);

    /// The page of a player who reads concert pitch.
    fn page() -> Page {
        Page::new(crate::music::instrument("piano").unwrap().clone(), crate::music::Reading::default())
    }
    fn said(reason: Reason, key: &str) -> String {
        sentence(&reason, page().read_key(key).unwrap(), Mode::Major, &page(), TODAY)
    }
    fn need(reflex: Option<f64>, middle: Option<f64>, tempo: f64, (passed, tries): (u32, u32)) -> Reason {
        let (reflex, middle, aim) = (reflex.map(Seconds), middle.map(Seconds), reflex.map(|_| Seconds(0.8)));
        Reason::Need { reflex, middle, aim, tempo: Tempo(tempo), goal: Tempo(160.0), passed, tries }
    }

    #[test]
    fn a_slow_key_hears_its_own_time_beside_the_middle_one() {
        let slow = need(Some(1.93), Some(1.1), 72.3, (7, 8));
        let whole =
            "Db: reflex 1.9 s, your middle key 1.1 s; asked at quarter = 72, your goal 160; so it comes more often.";
        assert_eq!(said(slow, "Db"), whole);
        let db = page().read_key("Db").unwrap();
        assert_eq!(short(&slow, db, Mode::Major, &page(), TODAY), "Db, reflex 1.9 s, your middle key 1.1 s");
    }

    #[test]
    fn a_key_that_is_no_slower_than_the_middle_is_never_called_slow() {
        let tempo_only = "B: asked at quarter = 72, your goal 160; so it comes more often.";
        assert_eq!(said(need(Some(0.7), Some(1.1), 72.0, (8, 8)), "B"), tempo_only);
        assert_eq!(said(need(Some(0.81), Some(0.78), 72.0, (8, 8)), "B"), tempo_only, "equal as it is said");
        assert_eq!(said(need(None, None, 72.0, (8, 8)), "B"), tempo_only);
        let why = said(need(Some(1.1), Some(1.3), 165.0, (8, 8)), "B");
        assert_eq!(why, "B: reflex 1.1 s, your goal 0.8 s; so it comes more often.");
    }

    #[test]
    fn a_key_at_its_tempo_that_often_fails_hears_how_often() {
        let why = |lately| said(need(Some(0.7), Some(0.7), 165.0, lately), "E");
        assert_eq!(why((3, 8)), "E: three of the latest eight tries passed; so it comes more often.");
        assert_eq!(why((0, 5)), "E: none of the latest five tries passed; so it comes more often.");
        assert_eq!(why((0, 1)), "E: the latest try did not pass; so it comes more often.");
        assert_eq!(why((2, 2)), "E: answered twice so far; so it comes more often.");
        assert_eq!(
            why((8, 8)),
            "E: all of the latest eight tries passed; so it comes more often.",
            "there may be more"
        );
    }

    #[test]
    fn a_key_that_other_patterns_asked_is_new_in_this_one_only() {
        let first = "A for the first time in this pattern.";
        assert_eq!(said(Reason::Untried { cues: 0 }, "A"), first);
        assert_eq!(said(Reason::OpeningHere { days: None }, "A"), first);
        assert_eq!(said(Reason::Untried { cues: 2 }, "A"), "A was asked twice in this pattern and not answered yet.");
        assert_eq!(
            said(Reason::OpeningHere { days: Some(2) }, "A"),
            "A is back today in this pattern, where it was not asked since Tuesday."
        );
    }

    #[test]
    fn a_key_that_was_away_is_back_and_the_day_has_its_name() {
        let back = |days| said(Reason::Opening { days: Some(days) }, "Bb");
        assert_eq!(back(1), "First Bb today.");
        assert_eq!(back(2), "Bb is back today, not asked since Tuesday.");
        assert_eq!(back(6), "Bb is back today, not asked since Friday.");
        assert_eq!(back(7), "Bb is back today, not asked for seven days.");
        assert_eq!(back(0), "First Bb today.");
        assert_eq!(said(Reason::Opening { days: None }, "Bb"), "Bb for the first time.");
    }

    #[test]
    fn a_new_pattern_counts_its_answers_down() {
        assert!(said(Reason::Meeting { left: 3 }, "C").contains("three answers in C before"));
        assert!(said(Reason::Meeting { left: 1 }, "C").contains("one answer in C before"));
    }

    #[test]
    fn a_key_that_rests_hears_what_to_check() {
        let why = said(Reason::Rested { cues: 8, passed: 0 }, "E");
        assert!(why.starts_with("E: asked 8 times today in this pattern, none passed. Check the sound"), "{why}");
        assert!(
            said(Reason::Rested { cues: 14, passed: 2 }, "E").contains("14 times today in this pattern, two passed")
        );
    }

    #[test]
    fn the_page_of_a_trumpet_stands_a_whole_tone_above_the_sound() {
        let trumpet = crate::music::instrument("trumpet").unwrap();
        let mut page = Page::new(trumpet.clone(), crate::music::Reading::default());
        let (e, reason) = (ConcertKey::FIFTHS[4], Reason::Guard { cues: 36 });
        assert_eq!(sentence(&reason, e, Mode::Major, &page, None), "36 cues since F#.");
        page.reading.g_flat = true;
        assert_eq!(sentence(&reason, e, Mode::Major, &page, None), "36 cues since Gb.");
        assert_eq!(sentence(&reason, e, Mode::Minor, &page, None), "36 cues since F#.");
    }

    #[test]
    fn no_sentence_threatens_or_flatters() {
        let reasons = [
            Reason::Meeting { left: 2 },
            Reason::Opening { days: Some(30) },
            Reason::Guard { cues: 36 },
            need(Some(2.0), Some(1.0), 60.0, (0, 8)),
            Reason::OpeningHere { days: Some(30) },
            Reason::HeldOut { days: Some(8), until: 20_800 },
            Reason::Untried { cues: 2 },
            Reason::Turn,
            Reason::WeakJoin { broke: 3, tries: 4, days: 7 },
            Reason::WeakKey { broke: 2, tries: 2, days: 1 },
            Reason::NeverUsed { held: 10, choruses: 6 },
            Reason::Seldom { cues: 14 },
            Reason::Rested { cues: 8, passed: 0 },
            Reason::Joins { others: 5 },
            Reason::Even,
            Reason::Again { slower: true },
            Reason::Apart { stage: ApartStage::Slower },
            Reason::Apart { stage: ApartStage::Seam },
            Reason::Closing,
        ];
        for reason in reasons {
            let both = said(reason, "A") + &short(&reason, page().read_key("A").unwrap(), Mode::Major, &page(), None);
            for word in ["due", "overdue", "master", "streak", "great", "bad", "must", "point"] {
                assert!(!both.to_lowercase().split(|c: char| !c.is_alphabetic()).any(|w| w == word), "{both}");
            }
        }
    }

    #[test]
    fn a_step_of_the_tempo_is_said_in_whole_quarters() {
        let step_words = |step, next| moved(step, Tempo(72.2), Tempo(next), false);
        assert_eq!(step_words(TempoStep::Up, 76.3), "up to 76");
        assert_eq!(step_words(TempoStep::Up, 72.2), "72 stands: no faster is asked");
        assert_eq!(step_words(TempoStep::Stay, 72.2), "not yet: same tempo");
        assert_eq!(step_words(TempoStep::Down, 62.9), "slower: 63");
        assert_eq!(moved(TempoStep::Down, Tempo(40.0), Tempo(40.0), false), "40 again: no slower is asked");
        assert_eq!(moved(TempoStep::Stay, Tempo(72.0), Tempo(72.0), true), "not surely heard: same tempo");
        let goals = Goals { tempo: Tempo(160.0), reflex: Seconds(0.8) };
        assert_eq!(
            all_hold(12, Holds::Freely, &goals),
            "All twelve keys hold. Raise the goal to quarter = 168, or take the next pattern."
        );
        let begins = |keys, how| all_hold(keys, how, &goals).split('.').next().unwrap_or_default().to_owned();
        assert_eq!(begins(1, Holds::Freely), "Your one key holds");
        assert_eq!(begins(2, Holds::Freely), "Both keys hold");
        assert_eq!(begins(3, Holds::InTempo), "All three keys hold in tempo", "of the reflex nothing is known");
    }
}
