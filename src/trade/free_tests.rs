//! Which notes belong to which free chorus. Sources: the planted facts; lengths by definition of the form.

use crate::chart::Forms;
use crate::music::{ConcertKey, Intonation, Level, instrument};
use crate::notes::{HeardNote, NoteEvent};
use crate::pattern::{Library, PatternQuery};
use crate::phrase::{PhraseMaker, Stock};
use crate::sound::Placement;
use crate::trade::{FreeChorus, Trade, TradeMoment, TradeWay, TradeWish, Trader};
use crate::units::{Beats, Decibels, Midi, Seconds, Tempo};

const TEMPO: Tempo = Tempo(120.0);
/// C and F.
const KEYS: [ConcertKey; 2] = [ConcertKey::FIFTHS[0], ConcertKey::FIFTHS[11]];

fn wish(form: &crate::chart::NamedChart, choruses: u32, rests: bool) -> TradeWish<'_> {
    TradeWish {
        form,
        keys: &KEYS,
        bars: 4,
        way: TradeWay::Answer,
        on_every: None,
        choruses,
        tempo: TEMPO,
        swing: true,
        range: instrument("trumpet").unwrap_or_else(|no| panic!("{no}")).range(Level::Working),
        rests,
    }
}

fn free(choruses: u32, rests: bool) -> Trade {
    Trade::free(&wish(Forms::builtin().find("blues").unwrap_or_else(|no| panic!("{no}")), choruses, rests))
}

/// What becomes of notes on these beats (from the first of the lead-in) up to an instant, with a delay of .1 s.
fn heard(trade: &Trade, beats: &[f64], until: f64) -> (Vec<TradeMoment>, Vec<TradeMoment>) {
    let delay = Seconds(0.1);
    let mut trader = Trader::new(trade, Placement::at(Seconds(0.0)), Some(delay), Intonation::Unscored);
    let mut come = Vec::new();
    let mut last = Seconds(0.0);
    for (n, beat) in beats.iter().enumerate() {
        let onset = TEMPO.lasting(Beats(*beat)) + delay;
        come.extend(trader.now(onset));
        let note = HeardNote {
            number: n as u32,
            onset,
            release: onset + Seconds(0.2),
            pitch: Midi(60.0),
            spread: None,
            loudness: Decibels(-20.0),
            confidence: 0.95,
            announced: onset,
            announced_pitch: Midi(60.0),
        };
        trader.hear(&NoteEvent::Off(note));
        last = onset;
    }
    let now = TEMPO.lasting(Beats(until)) + delay;
    assert!(last.0 <= now.0);
    come.extend(trader.now(now));
    (come, trader.broken_off(now))
}

fn numbers(moment: &TradeMoment) -> Option<(usize, Vec<u32>)> {
    match moment {
        TradeMoment::Played(round, FreeChorus { heard, .. }) => {
            Some((*round, heard.iter().map(|note| note.number).collect()))
        }
        _ => None,
    }
}

#[test]
fn a_pick_up_and_the_last_beat_belong_to_the_chorus_and_the_lead_in_does_not() {
    // Two bars of lead-in, then 48 beats of blues: 8 to 56.
    let trade = free(1, false);
    assert_eq!((trade.ends(), trade.forms[0].bars), (Beats(56.0), 12));
    let (come, _) = heard(&trade, &[1.0, 6.5, 8.0, 30.0, 55.5, 56.0], 60.0);
    assert_eq!(come.iter().find_map(numbers), Some((0, vec![1, 2, 3, 4, 5])));
}

#[test]
fn choruses_that_follow_each_other_share_no_note() {
    let (come, _) = heard(&free(2, false), &[9.0, 55.0, 55.8, 56.0, 60.0, 103.0, 104.0], 108.0);
    assert_eq!(come.iter().filter_map(numbers).collect::<Vec<_>>(), [(0, vec![0, 1]), (1, vec![2, 3, 4, 5, 6])]);
}

#[test]
fn lips_rest_for_a_chorus_whose_notes_belong_to_none() {
    let trade = free(2, true);
    assert_eq!(trade.rounds.iter().map(|round| round.free.is_some()).collect::<Vec<_>>(), [true, false, true]);
    let (come, _) = heard(&trade, &[9.0, 60.0, 101.0, 105.0], 156.0);
    assert_eq!(come.iter().filter_map(numbers).collect::<Vec<_>>(), [(0, vec![0]), (2, vec![2, 3])]);
    assert!(come.iter().any(|moment| matches!(moment, TradeMoment::Rest(1))));
}

#[test]
fn a_chorus_that_is_broken_off_is_kept_up_to_there() {
    let (come, left) = heard(&free(2, false), &[9.0, 20.0, 30.0], 32.0);
    assert!(come.iter().all(|moment| numbers(moment).is_none()));
    let [TradeMoment::Played(0, chorus)] = &left[..] else { panic!("{left:?}") };
    assert_eq!((chorus.heard.len(), chorus.ends), (3, TEMPO.lasting(Beats(56.0))));
    assert!((chorus.until - TEMPO.lasting(Beats(32.0))).0 < 0.11, "{:?}", chorus.until);
    assert!(heard(&free(2, false), &[], 32.0).1.is_empty(), "silence leaves nothing");
}

#[test]
fn what_a_simulated_player_makes_up_lies_in_the_bars_of_the_form_and_in_the_range() {
    let form = Forms::builtin().find("rhythm-changes").unwrap_or_else(|no| panic!("{no}"));
    let wish = wish(form, 2, true);
    let mut trade = Trade::free(&wish);
    let mut seed = 7_u64;
    let mut draw = move || {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (seed >> 11) as f64 / (1u64 << 53) as f64
    };
    let mut maker = PhraseMaker::new(Stock::of(Library::builtin().select(&PatternQuery::default())));
    trade.improvise(&wish, &mut maker, &mut draw);
    // Eight groups of four bars in each of two choruses, each with a phrase and a line of the player's own.
    let made_up: Vec<_> = trade.improvised().collect();
    assert!((24..=32).contains(&made_up.len()), "{}", made_up.len());
    let free = |beat: f64| trade.rounds.iter().any(|it| it.free.is_some() && (it.begins.0..it.ends.0).contains(&beat));
    for (cue, at) in made_up {
        assert!(!cue.line.notes.is_empty() && cue.line.notes.iter().all(|note| wish.range.contains(note.pitch)));
        assert!(cue.line.notes.iter().all(|note| free((at + note.at).0)), "{at:?}");
    }
}
