//! Why this key now: one true sentence from the numbers that chose it, in written pitch.

use crate::coach::{Choice, Goals, Holds, Reason};
use crate::music::{Instrument, WrittenKey};
use crate::units::{Seconds, Tempo};
use crate::words::numbers;

/// Below this moving share of passes the passes themselves are worth a word.
const FEW_PASSES: f64 = 0.6;
/// Raising a goal that all keys hold: five per cent.
const RAISE: f64 = 1.05;
/// The days of the week; 1970-01-01 was a Thursday.
const WEEK: [&str; 7] = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];
const THURSDAY: i32 = 3;

/// The full sentence for a choice, in the pitch on this instrument's page; `today` as in [`sentence`].
#[must_use]
pub fn of_choice(choice: &Choice, instrument: &Instrument, g_flat: bool, today: Option<i32>) -> String {
    sentence(&choice.reason, instrument.written_key(choice.key), g_flat, today)
}

/// The full sentence. `g_flat` writes Gb for F#; `today` is the day since 1970-01-01 where days of the week may be named.
#[must_use]
pub fn sentence(reason: &Reason, key: WrittenKey, g_flat: bool, today: Option<i32>) -> String {
    let key = key.name(g_flat);
    match *reason {
        Reason::Meeting { left: 0 } => format!("New pattern: {key}, slowly."),
        Reason::Meeting { left } => {
            let answers = if left == 1 { "one answer".to_owned() } else { format!("{} answers", count(left)) };
            format!("New pattern: {answers} in {key}, slowly, before the other keys come in.")
        }
        Reason::Opening { days: None } => format!("{key} for the first time."),
        Reason::Opening { days: Some(days @ 2..) } => format!("{key} is back today, {}.", since(days, today)),
        Reason::Opening { .. } => format!("First {key} today."),
        Reason::Guard { cues } => format!("{cues} cues since {key}."),
        Reason::Need { reflex, middle, tempo, goal, passes } => {
            format!("{key}: {}; so it comes more often.", needs(reflex, middle, tempo, goal, passes))
        }
        Reason::Seldom { cues } => {
            format!("{key}, {} since the last: it needs fewer turns than your average key.", cues_in_words(cues))
        }
        Reason::Rested { cues, passed } => {
            let passed = if passed == 0 { "none passed".to_owned() } else { format!("{} passed", count(passed)) };
            format!(
                "{key}: asked {cues} times today, {passed}. Check the sound, or slow it by hand; it comes seldom for the rest of today."
            )
        }
        Reason::Joins { others: 1 } => format!("{key} joins: the other one holds."),
        Reason::Joins { others } => format!("{key} joins: the other {} hold.", count(others)),
        Reason::Even => format!("{key}, in turn: every key is at your goal."),
        Reason::Again { slower: false } => format!("{key} again."),
        Reason::Again { slower: true } => format!("{key} again, slower."),
        Reason::Closing => format!("{key} to close: it goes well."),
    }
}

/// The short form for a screen: "B, first time today".
#[must_use]
pub fn short(reason: &Reason, key: WrittenKey, g_flat: bool, today: Option<i32>) -> String {
    let key = key.name(g_flat);
    match *reason {
        Reason::Meeting { .. } => format!("{key}, new pattern, slowly"),
        Reason::Opening { days: None } => format!("{key}, for the first time"),
        Reason::Opening { days: Some(days @ 2..) } => format!("{key}, {}", since(days, today)),
        Reason::Opening { .. } => format!("{key}, first time today"),
        Reason::Guard { cues } => format!("{key}, {} since the last", cues_in_words(cues)),
        Reason::Need { reflex, middle, tempo, goal, passes } => {
            let all = needs(reflex, middle, tempo, goal, passes);
            format!("{key}, {}", all.split(';').next().unwrap_or(&all))
        }
        Reason::Seldom { .. } | Reason::Even => format!("{key}, its turn"),
        Reason::Rested { .. } => format!("{key}, seldom for today"),
        Reason::Joins { .. } => format!("{key} joins"),
        Reason::Again { slower: false } => format!("{key} again"),
        Reason::Again { slower: true } => format!("{key} again, slower"),
        Reason::Closing => format!("{key} to close"),
    }
}

/// What a step of the tempo ladder says: "72 passed; next 75".
#[must_use]
pub fn step(asked: Tempo, passed: bool, next: Tempo) -> String {
    let (asked, next) = (asked.0.round(), next.0.round());
    match (passed, next == asked) {
        (true, true) => format!("{asked} passed; next {next} again"),
        (true, false) => format!("{asked} passed; next {next}"),
        (false, true) => format!("{asked} again"),
        (false, false) => format!("{asked} was too fast today; next {next}"),
    }
}

/// What to say when every key of the plan holds, and how the least of them does.
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

/// The numbers behind a need, the first the most telling.
fn needs(reflex: Option<Seconds>, middle: Option<Seconds>, tempo: Tempo, goal: Tempo, passes: f64) -> String {
    let tenth = |time: Seconds| format!("{:.1} s", time.0);
    let mut told = Vec::new();
    if let (Some(reflex), Some(middle)) = (reflex, middle)
        && reflex > middle
        && tenth(reflex) != tenth(middle)
    {
        told.push(format!("reflex {}, your middle key {}", tenth(reflex), tenth(middle)));
    }
    if tempo.0.round() < goal.0.round() {
        told.push(format!("quarter = {:.0} of {:.0}", tempo.0, goal.0));
    }
    if passes < FEW_PASSES || told.is_empty() {
        told.push(format!("lately about {:.0} tries in ten pass", passes * 10.0));
    }
    told.join("; ")
}

/// "not asked since Tuesday" inside a week, else how many days.
#[must_use]
pub fn since(days: i32, today: Option<i32>) -> String {
    match today {
        Some(today) if (2..7).contains(&days) => {
            let day = (today.saturating_sub(days).rem_euclid(7) + THURSDAY) % 7;
            format!("not asked since {}", WEEK[day as usize])
        }
        _ => format!("not asked for {} days", count(days.unsigned_abs())),
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

    fn said(reason: Reason, key: &str) -> String {
        sentence(&reason, WrittenKey::parse(key).unwrap(), false, TODAY)
    }
    fn need(reflex: Option<f64>, middle: Option<f64>, tempo: f64, passes: f64) -> Reason {
        let (reflex, middle) = (reflex.map(Seconds), middle.map(Seconds));
        Reason::Need { reflex, middle, tempo: Tempo(tempo), goal: Tempo(160.0), passes }
    }

    #[test]
    fn a_slow_key_hears_its_own_time_beside_the_middle_one() {
        let slow = need(Some(1.93), Some(1.1), 72.3, 0.8);
        let whole = "Db: reflex 1.9 s, your middle key 1.1 s; quarter = 72 of 160; so it comes more often.";
        assert_eq!(said(slow, "Db"), whole);
        let db = WrittenKey::parse("Db").unwrap();
        assert_eq!(short(&slow, db, false, TODAY), "Db, reflex 1.9 s, your middle key 1.1 s");
    }

    #[test]
    fn a_key_that_is_no_slower_than_the_middle_is_never_called_slow() {
        assert_eq!(said(need(Some(0.9), Some(1.1), 72.0, 0.9), "B"), "B: quarter = 72 of 160; so it comes more often.");
        assert_eq!(
            said(need(Some(1.12), Some(1.08), 72.0, 0.9), "B"),
            "B: quarter = 72 of 160; so it comes more often."
        );
        assert_eq!(said(need(None, None, 72.0, 0.9), "B"), "B: quarter = 72 of 160; so it comes more often.");
    }

    #[test]
    fn a_key_at_its_tempo_that_often_fails_hears_how_often() {
        let why = said(need(Some(0.7), Some(0.7), 165.0, 0.42), "E");
        assert_eq!(why, "E: lately about 4 tries in ten pass; so it comes more often.");
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
        assert!(said(Reason::Meeting { left: 3 }, "C").contains("three answers in C, slowly"));
        assert!(said(Reason::Meeting { left: 1 }, "C").contains("one answer in C, slowly"));
    }

    #[test]
    fn a_key_that_rests_hears_what_to_check() {
        let why = said(Reason::Rested { cues: 8, passed: 0 }, "E");
        assert!(why.starts_with("E: asked 8 times today, none passed. Check the sound"), "{why}");
        assert!(said(Reason::Rested { cues: 14, passed: 2 }, "E").contains("14 times today, two passed"));
    }

    #[test]
    fn the_page_of_a_trumpet_stands_a_whole_tone_above_the_sound() {
        let trumpet = crate::music::instrument("trumpet").unwrap();
        let choice = Choice {
            pattern: crate::pattern::PatternId("five-notes".to_owned()),
            key: crate::music::ConcertKey::FIFTHS[4],
            register: crate::pattern::Register::Middle,
            tempo: Tempo(72.0),
            reason: Reason::Guard { cues: 36 },
        };
        assert_eq!(of_choice(&choice, trumpet, false, None), "36 cues since F#.");
        assert_eq!(of_choice(&choice, trumpet, true, None), "36 cues since Gb.");
    }

    #[test]
    fn no_sentence_threatens_or_flatters() {
        let reasons = [
            Reason::Meeting { left: 2 },
            Reason::Opening { days: Some(30) },
            Reason::Guard { cues: 36 },
            need(Some(2.0), Some(1.0), 60.0, 0.1),
            Reason::Seldom { cues: 14 },
            Reason::Rested { cues: 8, passed: 0 },
            Reason::Joins { others: 5 },
            Reason::Even,
            Reason::Again { slower: true },
            Reason::Closing,
        ];
        for reason in reasons {
            let both = said(reason, "A") + &short(&reason, WrittenKey::parse("A").unwrap(), false, None);
            for word in ["due", "overdue", "master", "streak", "great", "bad", "must", "point"] {
                assert!(!both.to_lowercase().split(|c: char| !c.is_alphabetic()).any(|w| w == word), "{both}");
            }
        }
    }

    #[test]
    fn a_step_of_the_tempo_is_said_in_whole_quarters() {
        assert_eq!(step(Tempo(72.2), true, Tempo(74.7)), "72 passed; next 75");
        assert_eq!(step(Tempo(72.2), false, Tempo(62.9)), "72 was too fast today; next 63");
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
