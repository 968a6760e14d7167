//! An answer over a form with a fault planted at a seam. Sources: the planted facts.

use crate::chart::Forms;
use crate::music::{ConcertKey, Intonation, Level, PitchClass, instrument};
use crate::notes::{HeardNote, NoteEvent};
use crate::pattern::{Library, PatternQuery, Ticks};
use crate::phrase::{PhraseMaker, Stock};
use crate::sound::Placement;
use crate::trade::{Exchange, JudgedExchange, Trade, TradeMoment, TradeWay, TradeWish, Trader};
use crate::units::{Beats, Decibels, Midi, Seconds, Tempo};
use crate::verdict::VariedAs;

/// Numbers evenly spread over 0 to 1 (Knuth's MMIX constants).
fn draws(seed: u64) -> impl FnMut() -> f64 {
    let mut state = seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1;
    move || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1u64 << 53) as f64
    }
}

fn traded(form: &str, rests: bool, choruses: u32) -> Trade {
    traded_so(TradeWay::Answer, form, rests, choruses)
}

fn traded_so(way: TradeWay, form: &str, rests: bool, choruses: u32) -> Trade {
    let form = Forms::builtin().find(form).unwrap_or_else(|no| panic!("{no}"));
    let wish = TradeWish {
        form,
        keys: &[ConcertKey(PitchClass::new(0)), ConcertKey(PitchClass::new(4))],
        bars: 4,
        way,
        on_every: None,
        choruses,
        tempo: Tempo(120.0),
        swing: true,
        range: instrument("trumpet").unwrap_or_else(|no| panic!("{no}")).range(Level::Working),
        rests,
    };
    let mut maker = PhraseMaker::new(Stock::of(Library::builtin().select(&PatternQuery::default())));
    Trade::plan(&wish, &mut maker, &mut draws(5)).unwrap_or_else(|none| panic!("{none}"))
}

fn at(beat: Beats) -> Seconds {
    Tempo(120.0).lasting(beat)
}

/// The phrase as asked, in its bars, with every note from `seam` on later by `by`.
fn played(exchange: &Exchange, seam: usize, by: f64) -> Vec<HeardNote> {
    let notes = exchange.cue.line.notes.iter().enumerate();
    let one = |(n, note): (usize, &crate::pattern::ExpectedNote)| {
        let onset = at(exchange.answered + note.at) + Seconds(if n >= seam { by } else { 0.0 });
        HeardNote {
            number: n as u32,
            onset,
            release: onset + at(note.length) * 0.85,
            pitch: Midi(f64::from(note.pitch.0)),
            spread: None,
            loudness: Decibels(-20.0),
            confidence: 0.95,
            announced: onset + Seconds(0.05),
            announced_pitch: Midi(f64::from(note.pitch.0)),
        }
    };
    notes.map(one).collect()
}

fn judged(exchange: &Exchange, heard: &[HeardNote]) -> JudgedExchange {
    JudgedExchange::of(exchange, heard, &at, Some(Seconds(0.0)), Intonation::Unscored)
}

#[test]
fn what_is_played_as_asked_has_every_seam_in_time_and_lands() {
    for exchange in traded("blues-ii-v", false, 2).exchanges() {
        let answer = judged(exchange, &played(exchange, 0, 0.0));
        assert!(answer.verdict.whole() && answer.landed, "{:?}", answer.verdict);
        assert!(!answer.seams.is_empty());
        assert!(answer.seams.iter().all(|seam| seam.right && !seam.stands_out), "{:?}", answer.seams);
    }
}

#[test]
fn a_phrase_all_right_and_a_sixth_too_fast_is_out_of_time_and_one_as_asked_is_not() {
    for exchange in traded("blues-ii-v", false, 2).exchanges() {
        let asked = played(exchange, 0, 0.0);
        assert!(!judged(exchange, &asked).out_of_time_or_tune());
        let begins = at(exchange.answered);
        let sooner = |at: Seconds| begins + (at - begins) * (1.0 / 1.16);
        let rushed: Vec<HeardNote> = (asked.iter())
            .map(|note| HeardNote { onset: sooner(note.onset), release: sooner(note.release), ..*note })
            .collect();
        let answer = judged(exchange, &rushed);
        assert!(answer.verdict.whole() && answer.out_of_time_or_tune(), "{:?}", answer.verdict);
    }
}

#[test]
fn a_wait_or_a_rush_at_a_seam_is_told_with_its_size() {
    let mut found = 0;
    let trade = traded("rhythm-changes", false, 2);
    for exchange in trade.exchanges() {
        for by in [0.12, -0.1] {
            let first = exchange.cue.seam_notes()[0];
            let answer = judged(exchange, &played(exchange, first, by));
            let seam = answer.seams.iter().find(|seam| seam.note == first).expect("a seam");
            let near = seam.gap.is_some_and(|gap| (gap.0 - by).abs() < 0.06);
            found +=
                usize::from(seam.stands_out && near && answer.seams.iter().filter(|it| it.stands_out).count() == 1);
        }
    }
    let all = 2 * trade.exchanges().count();
    assert!(found * 10 >= all * 8, "{found} of {all}");
}

#[test]
fn notes_of_the_bars_before_belong_to_no_answer() {
    let trade = traded("blues", false, 1);
    let mut exchanges = trade.exchanges();
    let (first, second) = (exchanges.next().expect("one"), exchanges.next().expect("two"));
    let mut heard = played(first, 0, 0.0);
    heard.extend(played(second, 0, 0.0));
    assert_eq!(judged(first, &heard).heard.len(), first.cue.line.notes.len());
    assert_eq!(judged(second, &heard).heard.len(), second.cue.line.notes.len());
}

#[test]
fn where_the_player_breaks_off_the_answers_up_to_there_are_kept_and_the_open_one_has_no_verdict() {
    let trade = traded("blues", false, 1);
    let asked: Vec<&Exchange> = trade.exchanges().collect();
    let mut trader = Trader::new(&trade, Placement::at(Seconds(0.0)), Some(Seconds(0.0)), Intonation::Unscored);
    let begun = &played(asked[1], 0, 0.0)[..2];
    for note in played(asked[0], 0, 0.0).iter().chain(begun) {
        trader.hear(&NoteEvent::Off(HeardNote { number: note.number + 100 * (note.onset.0 as u32), ..*note }));
    }
    let stopped = begun[1].onset + Seconds(0.05);
    let kept = trader.broken_off(stopped);
    let [TradeMoment::BrokenOff(0, answers)] = &kept[..] else { panic!("{kept:?}") };
    assert_eq!(answers.iter().map(|answer| answer.over).collect::<Vec<_>>(), [true, false]);
    assert!(answers[0].verdict.whole(), "{:?}", answers[0].verdict);
    assert_eq!(answers[1].heard.len(), 2);
    // Before anything was played in the second answer, there is nothing of it to keep; before the first, nothing at all.
    let kept = trader.broken_off(at(asked[1].sounded + Beats(2.0)));
    assert!(matches!(&kept[..], [TradeMoment::BrokenOff(0, answers)] if answers.len() == 1), "{kept:?}");
    assert!(trader.broken_off(at(asked[0].sounded)).is_empty());
}

#[test]
fn lips_and_voices_rest_through_a_chorus_between_two_and_the_form_stays_whole() {
    let trade = traded("blues", true, 2);
    let asked: Vec<usize> = trade.rounds.iter().map(|round| round.exchanges.len()).collect();
    assert_eq!(asked, [3, 0, 3]);
    assert_eq!(trade.forms.iter().map(|form| form.bars).collect::<Vec<_>>(), [24; 3]);
    // Two bars of lead-in, then 24 bars a chorus: by definition of the form.
    assert_eq!(trade.ends(), Beats(8.0 + 3.0 * 96.0));
    // The first four bars are those of the basic blues, twice (common practice).
    let names: Vec<String> =
        trade.forms[0].each_beat().map(|chord| chord.map_or_else(String::new, ToString::to_string)).collect();
    assert!(names[..32].iter().all(|name| name == "C7") && names[32..40].iter().all(|name| name == "F7"), "{names:?}");
}

#[test]
fn devices_that_are_slow_do_not_keep_the_last_chorus_from_being_judged() {
    let trade = traded("blues", false, 1);
    let place = Placement::at(Seconds(0.0));
    let mut trader = Trader::new(&trade, place, Some(Seconds(0.9)), Intonation::Unscored);
    let moments = trader.now(Seconds(10_000.0));
    let judged = moments.iter().position(|moment| matches!(moment, TradeMoment::Judged(..)));
    let end = moments.iter().position(|moment| matches!(moment, TradeMoment::End));
    assert!(judged.is_some() && judged < end, "judged at {judged:?}, over at {end:?}");
}

/// The phrase with other pitches, in its own rhythm.
fn with_pitches(exchange: &Exchange, other: impl Fn(usize, i32) -> i32) -> Vec<HeardNote> {
    let as_asked = played(exchange, 0, 0.0).into_iter().enumerate();
    let one = |(n, note): (usize, HeardNote)| {
        let pitch = Midi(f64::from(other(n, note.pitch.nearest())));
        HeardNote { pitch, announced_pitch: pitch, ..note }
    };
    as_asked.map(one).collect()
}

#[test]
fn whoever_finishes_a_phrase_is_judged_by_its_second_half_whether_or_not_the_first_is_played_too() {
    let trade = traded_so(TradeWay::Finish, "rhythm-changes", false, 2);
    assert!(trade.exchanges().count() > 8);
    for exchange in trade.exchanges() {
        let halves = [exchange.lead.notes.len(), exchange.cue.line.notes.len()];
        assert_eq!(halves[0] + halves[1], exchange.phrase.line.notes.len());
        assert!(halves.iter().all(|half| *half >= 2), "{halves:?}");
        let second = played(exchange, 0, 0.0);
        let answer = judged(exchange, &second);
        assert!(answer.whole() && answer.landed, "{:?}", answer.verdict);
        let line = exchange.lead.notes.iter().chain(&exchange.cue.line.notes).copied().collect();
        let line = crate::pattern::Line { notes: line, length: exchange.lead.length };
        let whole = Exchange { cue: crate::cue::Cue { line, ..exchange.cue.clone() }, ..exchange.clone() };
        assert!(judged(exchange, &played(&whole, 0, 0.0)).whole(), "the first half too");
        let wrong = with_pitches(exchange, |n, pitch| if n == 1 { pitch + 1 } else { pitch });
        assert!(!judged(exchange, &wrong).whole());
        assert!(!judged(exchange, &[]).whole());
    }
}

#[test]
fn a_variation_is_taken_by_its_rule_and_repeating_note_for_note_is_none() {
    let trade = traded_so(TradeWay::Vary, "blues-ii-v", false, 2);
    let taken = |exchange: &Exchange, heard: &[HeardNote]| {
        let answer = judged(exchange, heard);
        (answer.varied.map(|it| it.taken), answer.whole(), answer.varied.map_or(0, |it| it.moved))
    };
    let takes = |exchange: &Exchange, n: usize, pitch: i32| {
        let at = Ticks::nearest(exchange.phrase.line.notes[n].at);
        exchange.ground.takes(pitch, at, None)
    };
    let other = |exchange: &Exchange, n: usize, pitch: i32, suits: bool| {
        let away = if n.is_multiple_of(2) { [3, 4, 2, 5, -3, -4, -2, 6] } else { [-3, -4, -2, -5, 3, 4, 2, 6] };
        let found = away.into_iter().map(|by| pitch + by).find(|other| takes(exchange, n, *other) == suits);
        found.unwrap_or(pitch + 1)
    };
    let mut outside = 0;
    for exchange in trade.exchanges() {
        assert!(exchange.cue.joined.is_empty(), "no pattern is in use by it");
        let as_asked = played(exchange, 0, 0.0);
        assert_eq!(taken(exchange, &as_asked), (Some(VariedAs::Repeated), false, 0));
        let octave = with_pitches(exchange, |_, pitch| pitch + 12);
        assert_eq!(taken(exchange, &octave).0, Some(VariedAs::Repeated), "an octave higher it is the phrase itself");
        let up = with_pitches(exchange, |_, pitch| pitch + 5);
        assert_eq!(taken(exchange, &up), (Some(VariedAs::Shape), true, 5));
        let tones = with_pitches(exchange, |n, pitch| other(exchange, n, pitch, true));
        assert_eq!(taken(exchange, &tones), (Some(VariedAs::Rhythm), true, 0), "{exchange:?}");
        let against = with_pitches(exchange, |n, pitch| other(exchange, n, pitch, false));
        let told = judged(exchange, &against).varied.map(|it| (it.taken, it.outside));
        outside += usize::from(told.is_some_and(|(taken, out)| taken == VariedAs::Neither && out > 2));
        let astray: Vec<HeardNote> = tones
            .iter()
            .enumerate()
            .map(|(n, note)| HeardNote { onset: note.onset + Seconds(0.17 * (n % 3) as f64), ..*note })
            .collect();
        let told = taken(exchange, &astray[..astray.len() / 2]);
        assert_eq!(told.0, Some(VariedAs::Neither), "neither rhythm nor shape");
        assert_eq!(taken(exchange, &[]), (None, false, 0));
    }
    assert!(outside * 10 >= trade.exchanges().count() * 8, "{outside}");
}
