//! Answers to lines of eighths that swing: the two eighths of a beat are long and short.

use super::made::{asked_at, note};
use earfirst::outside::cue::{Cue, Rendering, sound};
use earfirst::outside::exchange::{StaffRequest, from_midi, from_musicxml, staff, to_midi, to_musicxml};
use earfirst::outside::music::{Concert, ConcertKey, Range, instrument};
use earfirst::outside::notes::HeardNote;
use earfirst::outside::pattern::{self, Library, Register, swing_at};
use earfirst::outside::units::{Beats, SampleRate, Seconds, Tempo};
use earfirst::outside::verdict::{Expectation, Finding, TempoStep, findings, judge, step};

const PITCHES: [i32; 9] = [60, 62, 64, 65, 67, 65, 64, 62, 60];
const EIGHTHS: [f64; 9] = [0.0, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0];

fn swinging(ratio: f64) -> Expectation {
    let straight = asked_at(&PITCHES, &EIGHTHS, 120.0);
    Expectation { line: straight.line.swung(ratio, Beats(0.0)), ..straight }
}

/// The line with this ratio of long to short, begun half a second after the cue.
fn played(ratio: f64) -> Vec<HeardNote> {
    let line = asked_at(&PITCHES, &EIGHTHS, 120.0).line.swung(ratio, Beats(0.0));
    let heard = line.notes.iter().map(|expected| {
        let (at, length) = (0.5 * expected.at.0, 0.5 * expected.length.0);
        note(f64::from(expected.pitch.0), 2.5 + at, 0.88 * length)
    });
    heard.collect()
}

fn swung(found: &[Finding]) -> Option<(f64, f64)> {
    found.iter().find_map(|f| if let Finding::Swung { played, asked } = f { Some((*played, *asked)) } else { None })
}

#[test]
fn who_swings_as_asked_is_even_and_hears_nothing_of_it() {
    let asked = swinging(2.0);
    let verdict = judge(&asked, &played(2.0));
    assert!(verdict.whole());
    assert!((verdict.swing.unwrap() - 2.0).abs() < 0.02 && verdict.evenness.unwrap() < 0.5);
    assert_eq!(swung(&findings(&verdict, &asked)), None);
}

#[test]
fn a_swing_of_ones_own_is_told_as_a_ratio_and_taken_out_before_evenness() {
    let asked = swinging(2.0);
    let verdict = judge(&asked, &played(1.6));
    assert!((verdict.swing.unwrap() - 1.6).abs() < 0.02);
    assert!(verdict.evenness.unwrap() < 1.5, "{:?}", verdict.evenness);
    assert_eq!(swung(&findings(&verdict, &asked)), None, "between 1.5 and 2.7 nobody would say a word");
}

#[test]
fn straight_eighths_where_swing_was_asked_are_told_and_so_is_swing_where_it_was_not() {
    let asked = swinging(2.0);
    let (came, wanted) = swung(&findings(&judge(&asked, &played(1.0)), &asked)).unwrap();
    assert!((came - 1.0).abs() < 0.02 && (wanted - 2.0).abs() < 1e-9);
    let asked = swinging(1.0);
    let (came, wanted) = swung(&findings(&judge(&asked, &played(2.0)), &asked)).unwrap();
    assert!((came - 2.0).abs() < 0.02 && (wanted - 1.0).abs() < 1e-9);
}

// Short-long is no swing: a sixteenth and a dotted eighth, or less of it, is a rhythm of its own (common practice).
#[test]
fn off_beats_that_come_early_limp_and_hold_the_tempo_and_what_people_play_for_even_eighths_does_not() {
    let asked = swinging(1.0);
    let at = |share: f64| played(share / (1.0 - share));
    for share in [0.29, 0.33, 0.36, 0.4, 0.43] {
        let heard = at(share);
        let verdict = judge(&asked, &heard);
        let (came, wanted) = swung(&findings(&verdict, &asked)).unwrap();
        assert!((came - share / (1.0 - share)).abs() < 0.02 && wanted == 1.0, "{share}: {came}");
        assert_eq!(step(&verdict, &asked, &heard), Some(TempoStep::Stay), "{share}");
    }
    let rhythm = findings(&judge(&asked, &at(0.25)), &asked);
    assert!(rhythm.iter().any(|it| matches!(it, Finding::Rhythm(_))), "a sixteenth and a dotted eighth: {rhythm:?}");
    for share in [0.45, 0.47, 0.5, 0.53] {
        assert_eq!(swung(&findings(&judge(&asked, &at(share)), &asked)), None, "{share}");
    }
    // Who strays by 25 ms either way has no limp, nor has one late note.
    let strays = [20.0, -25.0, 15.0, 25.0, -20.0, -25.0, 10.0, 25.0, -15.0];
    let mut heard = at(0.5);
    heard.iter_mut().zip(strays).for_each(|(note, ms)| note.onset.0 += 0.001 * ms);
    assert_eq!(swung(&findings(&judge(&asked, &heard), &asked)), None);
    let mut heard = at(0.5);
    heard[4].onset.0 += 0.12;
    assert_eq!(swung(&findings(&judge(&asked, &heard), &asked)), None);
}

#[test]
fn a_line_from_half_a_beat_of_pick_up_that_is_swung_does_not_limp() {
    // Six eighths from the off-beat before the bar to a last note on a beat: counted from the first note, the late ones come early.
    let mut asked = asked_at(&PITCHES[..6], &EIGHTHS[..6], 120.0);
    asked.line.length = Beats(4.5);
    let swung_late = asked.line.swung(2.0, Beats(0.5));
    let played = swung_late.notes.iter().map(|it| note(f64::from(it.pitch.0), 2.5 + 0.5 * it.at.0, 0.4 * it.length.0));
    let found = findings(&judge(&asked, &played.collect::<Vec<_>>()), &asked);
    assert!(!found.iter().any(Finding::is_fault), "{found:?}");
}

#[test]
fn a_pattern_that_swings_is_cued_with_late_off_beats_and_one_that_does_not_is_even() {
    let range = Range { low: Concert(40), high: Concert(90) };
    let sounded = |id: &str, tempo: f64| {
        let pattern = Library::builtin().find(id).unwrap();
        let key = ConcertKey::FIFTHS[0];
        let line = pattern::realise(pattern, key, None, range, Register::Middle).unwrap();
        let cue = Cue::new(pattern, key, Register::Middle, Tempo(tempo), line);
        let sound = sound(&cue, &Rendering::new(SampleRate::CD));
        (sound.notes[1].at - sound.notes[0].at, sound.notes[2].at - sound.notes[1].at)
    };
    let near = |(long, short): (Seconds, Seconds), ratio: f64| (long.0 / short.0 - ratio).abs() < 1e-6;
    assert!(near(sounded("ii-v-i-1-2-3-5-on-each", 96.0), 2.0));
    assert!(near(sounded("ii-v-i-1-2-3-5-on-each", 210.0), 1.5), "less at a fast tempo");
    assert!(near(sounded("five-note-row-up-and-down", 96.0), 1.0));
}

#[test]
fn the_page_is_even_and_says_swing_as_the_standard_does() {
    // In MusicXML 4.0 an element `sound` holds `swing` with `first`, `second` and `swing-type`. Standard MIDI Files have no word for swing,
    // so there the notes themselves are swung.
    let player = instrument("trumpet").unwrap();
    let written = |id: &str, tempo: f64| {
        let wish = StaffRequest {
            keys: vec![ConcertKey::FIFTHS[0]],
            range: player.working,
            register: Register::Middle,
            tempo: Tempo(tempo),
            signatures: true,
            g_flat: false,
        };
        let (staff, _) = staff(Library::builtin().find(id).unwrap(), player, &wish);
        (to_musicxml(&staff), to_midi(&staff))
    };
    let (page, midi) = written("ii-v-i-1-2-3-5-on-each", 96.0);
    let text: String = String::from_utf8(page.clone()).unwrap().split_whitespace().collect();
    assert!(text.contains("<words>Swing</words>"));
    assert!(text.contains("<swing><first>2</first><second>1</second><swing-type>eighth</swing-type></swing></sound>"));
    for line in [from_musicxml(&page).unwrap(), from_midi(&midi).unwrap()].map(|voice| voice.evened().line) {
        assert!((line.notes[1].at - line.notes[0].at).0 - 0.5 < 1e-6, "even on the page");
    }
    let (faster, _) = written("ii-v-i-1-2-3-5-on-each", 210.0);
    let faster: String = String::from_utf8(faster).unwrap().split_whitespace().collect();
    assert!(faster.contains("<first>3</first><second>2</second>") && swing_at(Tempo(210.0)) == 1.5);
    assert!(!String::from_utf8(written("five-note-row-up-and-down", 96.0).0).unwrap().contains("swing"));
}
