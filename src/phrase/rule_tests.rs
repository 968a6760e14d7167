//! Phrases over every form, compared with theory that is written here anew, in tables by the printed chord symbol. Chord tones,
//! tensions, avoided notes and the degrees of the keys are common practice, as in any handbook of jazz harmony.

use std::collections::BTreeSet;

use super::*;
use crate::chart::{Chorus, Forms, NamedChart};
use crate::music::{ChordSymbol, Concert, ConcertKey, Level, PitchClass, PitchName, Range, instrument};
use crate::pattern::{Join, Library, PatternQuery};

/// Numbers evenly spread over 0 to 1 (Knuth's MMIX constants).
fn draws(seed: u64) -> impl FnMut() -> f64 {
    let mut state = seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1;
    move || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1u64 << 53) as f64
    }
}

/// Tones and tensions of a chord in half steps over its root.
fn theory(chord: &ChordSymbol) -> (&'static [i32], &'static [i32]) {
    match chord.quality.to_string().as_str() {
        "7" => (&[0, 4, 7, 10], &[2, 9]),
        "maj7" => (&[0, 4, 7, 11], &[2, 9]),
        "m7" => (&[0, 3, 7, 10], &[2, 5]),
        "m7b5" => (&[0, 3, 6, 10], &[5, 8]),
        "7b9" => (&[0, 1, 4, 7, 10], &[9]),
        "m6" => (&[0, 3, 7, 9], &[2, 5]),
        "dim7" => (&[0, 3, 6, 9], &[]),
        "maj7#11" => (&[0, 4, 6, 7, 11], &[2, 9]),
        "7sus4" => (&[0, 5, 7, 10], &[2, 9]),
        other => panic!("no row for {other}"),
    }
}

/// The tones on which a phrase may land besides the ninth, in half steps over the root.
fn landings(chord: &ChordSymbol) -> &'static [i32] {
    match chord.quality.to_string().as_str() {
        "7" | "7b9" => &[4, 7, 10],
        "maj7" | "maj7#11" => &[4, 7, 11],
        "m7" => &[3, 7, 10],
        "m7b5" => &[3, 6, 10],
        "m6" => &[3, 7],
        "dim7" => &[3, 6, 9],
        "7sus4" => &[7, 10],
        other => panic!("no row for {other}"),
    }
}

/// One drawn phrase with all that is needed to judge it.
struct Drawn {
    form: String,
    tonic: PitchName,
    minor: bool,
    chorus: Chorus,
    first_bar: u32,
    phrase: Phrase,
    low: i32,
    high: i32,
}

impl Drawn {
    fn chord(&self, at: f64) -> &ChordSymbol {
        let beat = self.first_bar * self.chorus.meter + at.floor() as u32;
        self.chorus.under(beat).and_then(|change| change.chord.as_ref()).expect("a chord")
    }
    /// The chord to which a note belongs: a note on an off-beat just before a change belongs to the next chord.
    fn heard_in(&self, at: f64) -> &ChordSymbol {
        if at.fract() == 0.5 { self.chord(at + 0.5) } else { self.chord(at) }
    }
    fn over(&self, chord: &ChordSymbol, midi: i32) -> i32 {
        (midi - chord.root.class().get()).rem_euclid(12)
    }
    /// Whether a note, `half_steps` over the root of a chord, belongs to the key; always true over a root outside the key.
    fn in_key(&self, chord: &ChordSymbol, half_steps: i32) -> bool {
        let key: &[i32] = if self.minor { &[0, 2, 3, 5, 7, 8, 10] } else { &[0, 2, 4, 5, 7, 9, 11] };
        let root = (chord.root.class().get() - self.tonic.class().get()).rem_euclid(12);
        !key.contains(&root) || key.contains(&((root + half_steps) % 12))
    }
    fn strong(&self, beat: u32) -> bool {
        let in_bar = beat % self.chorus.meter;
        let halves: &[u32] = match self.chorus.meter {
            3 => &[0],
            5 => &[0, 3],
            _ => &[0, 2],
        };
        halves.contains(&in_bar) || self.chorus.changes.iter().any(|change| change.at == beat)
    }
    fn described(&self) -> String {
        let mut text = format!("{} in {}, bar {}:", self.form, self.tonic, self.first_bar + 1);
        for piece in &self.phrase.pieces {
            let seam = piece.seam.map_or_else(String::new, |seam| format!(", {}", seam.words()));
            text += &format!(
                "\n   {} over {} ({:?}, {:?}{seam})",
                piece.pattern,
                piece.chord.on(self.tonic),
                piece.entry,
                piece.figure
            );
        }
        if let Some((degree, home)) = &self.phrase.landing {
            text += &format!("\n   lands on {degree} of {}\n  ", home.on(self.tonic));
        }
        let mut chord = String::new();
        for note in &self.phrase.line.notes {
            let here = self.heard_in(note.at.0).to_string();
            if here != chord {
                text += &format!(" [{here}]");
                chord = here;
            }
            let letters = note.named.expect("letters").letters;
            let name = PitchName::on(self.tonic.letter.up(letters), note.pitch.class());
            let name = crate::music::readable(name, note.pitch.0);
            text += &format!(" {name}@{:.4}({:.2})", note.at.0, note.length.0);
        }
        text
    }
}

fn ground(chorus: &Chorus, form: &NamedChart, first: u32, bars: u32) -> Ground {
    Ground::new(chorus, first, bars, form.chart.is_minor())
}

/// As many drawn phrases as `count` says, over every form in turn, in twelve keys and on five instruments.
fn drawn(count: usize, seed: u64) -> Vec<Drawn> {
    let mut draw = draws(seed);
    let mut maker = PhraseMaker::new(Stock::of(Library::builtin().select(&PatternQuery::default())));
    let ranges = ["trumpet", "alto-sax", "trombone", "guitar", "flute"]
        .map(|id| instrument(id).unwrap_or_else(|unknown| panic!("{unknown}")).range(Level::Working));
    let forms = Forms::builtin().all();
    let one = |n: usize| {
        let form = &forms[n % forms.len()];
        let key = ConcertKey::FIFTHS[n / forms.len() % 12];
        let tonic = form.chart.tonality(key.0, false).tonic;
        let chorus = form.chart.in_key(tonic).chorus();
        let bars = if draw() < 0.5 { 2 } else { 4 }.min(chorus.bars);
        let first_bar = (draw() * f64::from(chorus.bars / bars)) as u32 * bars;
        let range = ranges[n % 5];
        let phrase = maker
            .phrase(&ground(&chorus, form, first_bar, bars), range, &mut draw)
            .unwrap_or_else(|none| panic!("{} in {tonic}, bar {first_bar}: {none}", form.id));
        let minor = form.chart.is_minor();
        Drawn { form: form.id.clone(), tonic, minor, chorus, first_bar, phrase, low: range.low.0, high: range.high.0 }
    };
    (0..count).map(one).collect()
}

#[test]
fn a_thousand_phrases_keep_the_rules() {
    let all = drawn(1000, 20);
    let mut rhythms = BTreeSet::new();
    let mut pairs = BTreeSet::new();
    let mut before: Vec<String> = Vec::new();
    for one in &all {
        let notes = &one.phrase.line.notes;
        assert!((2..=3).contains(&one.phrase.pieces.len()), "{}", one.described());
        for pair in notes.windows(2) {
            assert!(pair[0].at.0 + pair[0].length.0 <= pair[1].at.0 + 1e-9, "two at once: {}", one.described());
        }
        for note in notes {
            // Sixteenths and triplets begin on the beat (common practice of notation): none lies across it.
            let twelfth = (note.at.0.fract() * 12.0).round() as u32 % 12;
            assert!([0, 3, 4, 6, 8, 9].contains(&twelfth), "{twelfth}/12 of a beat: {}", one.described());
            assert!((one.low..=one.high).contains(&note.pitch.0), "out of range: {}", one.described());
            held_against_its_chords(one, note.pitch.0, note.at.0, note.at.0 + note.length.0);
        }
        joined(one);
        landed(one);
        let first = notes[0].pitch.0;
        let shape: Vec<String> =
            notes.iter().map(|note| format!("{} {} {}", note.pitch.0 - first, note.at.0, note.length.0)).collect();
        let shape = shape.join(", ");
        assert!(!before.iter().rev().take(APART).any(|other| *other == shape), "again: {}", one.described());
        before.push(shape);
        let rhythm: Vec<String> = notes.iter().map(|note| format!("{:.3} {:.3}", note.at.0, note.length.0)).collect();
        rhythms.insert(rhythm.join(", "));
        pairs.extend(one.phrase.pieces.windows(2).map(|pair| (pair[0].pattern.clone(), pair[1].pattern.clone())));
    }
    println!("{} pairs, {} rhythms", pairs.len(), rhythms.len());
    assert!(pairs.len() >= 150 && rhythms.len() >= 30, "{} pairs, {} rhythms", pairs.len(), rhythms.len());
}

/// Checks that a note is a tone of the chord, or a tension of the key, on every strong beat on which it sounds.
fn held_against_its_chords(one: &Drawn, midi: i32, from: f64, until: f64) {
    let first = from.ceil() as u32;
    for beat in (first..).take_while(|beat| f64::from(*beat) < until - 1e-9) {
        if !one.strong(one.first_bar * one.chorus.meter + beat) {
            continue;
        }
        let chord = one.chord(f64::from(beat));
        let over = one.over(chord, midi);
        let (tones, tensions) = theory(chord);
        let tension = tensions.contains(&over) && one.in_key(chord, over);
        assert!(tones.contains(&over) || tension, "{over} over {chord} on beat {beat}: {}", one.described());
    }
}

/// Checks that every seam goes by a half step, a whole step or a shared note into a tone of the chord that is heard there.
fn joined(one: &Drawn) {
    let notes = &one.phrase.line.notes;
    let mut seams: Vec<(usize, usize)> =
        one.phrase.pieces.windows(2).map(|pair| (pair[0].last, pair[1].first)).collect();
    if one.phrase.landing_apart {
        seams.push((notes.len() - 2, notes.len() - 1));
    }
    for (last, first) in seams {
        let leap = (notes[first].pitch.0 - notes[last].pitch.0).abs();
        assert!(if last == first { leap == 0 } else { (1..=2).contains(&leap) }, "leap {leap}: {}", one.described());
        let chord = one.heard_in(notes[first].at.0);
        let over = one.over(chord, notes[first].pitch.0);
        let lands = first == notes.len() - 1;
        assert!(theory(chord).0.contains(&over) || lands, "{over} begins over {chord}: {}", one.described());
    }
}

/// Checks that the last note is 3, 5, 7 or a ninth of the key, and lasts for a beat.
fn landed(one: &Drawn) {
    let last = one.phrase.line.notes.last().expect("a note");
    let chord = one.heard_in(last.at.0);
    let over = one.over(chord, last.pitch.0);
    let ninth = over == 2 && one.in_key(chord, 2) && theory(chord).1.contains(&2);
    assert!(landings(chord).contains(&over) || ninth, "lands on {over} of {chord}: {}", one.described());
    assert!(last.length.0 >= 1.0, "{}", one.described());
}

#[test]
fn a_seed_makes_a_phrase_again() {
    let lines = |seed| drawn(40, seed).into_iter().map(|one| one.phrase.line).collect::<Vec<_>>();
    assert_eq!(lines(7), lines(7));
    assert_ne!(lines(7), lines(8));
}

#[test]
fn two_patterns_are_enough_and_none_or_too_narrow_a_range_is_told() {
    let forms = Forms::builtin();
    let form = forms.find("ii-v-i").expect("ii-V-I");
    let c = form.chart.tonality(PitchClass::new(0), false).tonic;
    let chorus = form.chart.in_key(c).chorus();
    let over = ground(&chorus, form, 0, 4);
    let library = Library::builtin();
    let of = |ids: &[&str]| Stock::of(ids.iter().map(|id| library.find(id).unwrap_or_else(|no| panic!("{no}"))));
    let trumpet = instrument("trumpet").unwrap_or_else(|no| panic!("{no}")).range(Level::Working);
    let mut draw = draws(3);
    let mut two = PhraseMaker::new(of(&["1-2-3-5-cell-major", "1-2-3-5-cell-minor", "four-half-steps-down"]));
    let phrase = two.phrase(&over, trumpet, &mut draw).unwrap_or_else(|none| panic!("{none}"));
    assert!(phrase.pieces.len() >= 2);
    // A line of four half steps has room in any octave, and one such line alone joins nothing: the range is not to blame.
    let octave = Range::new(Concert(60), Concert(72));
    let alone = PhraseMaker::new(of(&["four-half-steps-down"])).phrase(&over, octave, &mut draw);
    assert!(!matches!(alone, Err(NoPhrase::OutOfRange { .. })), "{alone:?}");
    let none = PhraseMaker::new(of(&[])).phrase(&over, trumpet, &mut draw);
    assert_eq!(none.map_err(|none| none.to_string()), Err("none of the patterns fits IIm7".to_owned()));
}

#[test]
fn a_range_in_which_a_pattern_has_room_is_not_told_to_be_too_narrow() {
    // ii, V and I in C; 1 2 3 5 of C or G (common practice) lies from C4 to G4, or from G4 to D5.
    let form = Forms::builtin().find("ii-v-i").expect("ii-V-I");
    let c = form.chart.tonality(PitchClass::new(0), false).tonic;
    let over = ground(&form.chart.in_key(c).chorus(), form, 0, 4);
    let library = Library::builtin();
    let cell = library.find("1-2-3-5-cell-major").unwrap_or_else(|no| panic!("{no}"));
    let why = |low: i32, high: i32| {
        let range = Range::new(Concert(low), Concert(high));
        PhraseMaker::new(Stock::of([cell])).phrase(&over, range, &mut draws(5)).map(drop)
    };
    assert_eq!(why(60, 67), Err(NoPhrase::NoSeam), "it lies there on I, and nothing follows it");
    assert_eq!(why(67, 74), Err(NoPhrase::NoSeam), "and here on V");
    assert!(matches!(why(61, 67), Err(NoPhrase::OutOfRange { .. })), "here it has room on neither");
}

#[test]
fn one_pattern_stands_on_every_chord_that_is_named() {
    let form = Forms::builtin().find("turnaround-vi7").expect("a turnaround");
    let c = form.chart.tonality(PitchClass::new(0), false).tonic;
    let chorus = form.chart.in_key(c).chorus();
    let library = Library::builtin();
    let cell = library.find("1-2-3-5-cell-major").unwrap_or_else(|no| panic!("{no}"));
    let maker = PhraseMaker::new(Stock::of([cell]));
    let range = instrument("piano").unwrap_or_else(|no| panic!("{no}")).range(Level::Working);
    let on = |kind: &str| {
        let kind = crate::chart::Numeral::parse(kind).expect("a numeral");
        maker.on_every(&kind, &ground(&chorus, form, 0, 4), range, &mut draws(1))
    };
    // I VI7 | ii V7, twice: V stands on the third beat of bars 2 and 4 (common practice); 1 2 3 5 of G are G A B D.
    let phrase = on("V").unwrap_or_else(|none| panic!("{none}"));
    let notes: Vec<(f64, i32)> = phrase.line.notes.iter().map(|note| (note.at.0, note.pitch.0 % 12)).collect();
    let cell = |at: f64| [(at, 7), (at + 0.5, 9), (at + 1.0, 11), (at + 1.5, 2)];
    assert_eq!(notes, [cell(6.0), cell(14.0)].concat());
    assert!(phrase.landing.is_none() && phrase.pieces.iter().all(|piece| piece.seam.is_none()));
    assert_eq!(
        on("bVI7").map(drop),
        Err(NoPhrase::NoSuchChord { asked: crate::chart::Numeral::parse("bVI7").expect("a numeral") })
    );
    assert!(matches!(on("IIm7").map(drop), Err(NoPhrase::NoPattern { .. })));
}

/// Prints phrases to be read by a musician: `cargo test --lib twenty_to_read -- --ignored --nocapture`.
#[test]
#[ignore = "for reading"]
fn twenty_to_read() {
    for (n, one) in drawn(1000, 4711).iter().step_by(49).take(20).enumerate() {
        println!("{:2}. {}", n + 1, one.described());
    }
}

#[test]
fn a_wanted_join_comes_in_two_phrases_of_five_and_keeps_the_rules() {
    let form = Forms::builtin().find("ii-v-i").unwrap_or_else(|no| panic!("{no}"));
    let chorus = form.chart.in_key(form.chart.tonality(PitchClass::new(0), false).tonic).chorus();
    let ground = Ground::new(&chorus, 0, 4, false);
    let range = instrument("trumpet").unwrap_or_else(|no| panic!("{no}")).range(Level::Working);
    let stock =
        || Stock::of(Library::builtin().select(&PatternQuery { level: Some(1..=2), ..PatternQuery::default() }));
    let mut draw = draws(9);
    // The join of a phrase that was drawn freely can be made here.
    let mut free = PhraseMaker::new(stock());
    let first = free.phrase(&ground, range, &mut draw).unwrap_or_else(|no| panic!("{no}"));
    let [before, after, ..] = &first.pieces[..] else { panic!("{first:?}") };
    let Some(seam) = after.seam else { panic!("{first:?}") };
    let join = Join { before: before.pattern.clone(), after: after.pattern.clone(), seam };
    let joined = |phrase: &Phrase| {
        let pieces = &phrase.pieces;
        pieces[0].pattern == join.before && pieces[1].pattern == join.after && pieces[1].seam == Some(join.seam)
    };
    let mut maker = PhraseMaker::new(stock()).wanting([(WantedPiece::Join(join.clone()), 1.0)]);
    let drawn: Vec<Phrase> = (0..100).filter_map(|_| maker.phrase(&ground, range, &mut draw).ok()).collect();
    let wanted: Vec<&Phrase> = drawn.iter().filter(|phrase| phrase.wanted.is_some()).collect();
    assert!(drawn.len() == 100 && (25..=55).contains(&wanted.len()), "{} of {}", wanted.len(), drawn.len());
    for phrase in wanted {
        assert!(joined(phrase) && phrase.wanted == Some(WantedPiece::Join(join.clone())), "{phrase:?}");
        let heights: Vec<i32> = phrase.line.notes.iter().map(|note| note.pitch.0).collect();
        assert!(heights.iter().all(|height| (range.low.0..=range.high.0).contains(height)), "{heights:?}");
    }
    // A pattern that is wanted begins as many, joined to whatever follows.
    let pattern = before.pattern.clone();
    let mut maker = PhraseMaker::new(stock()).wanting([(WantedPiece::Pattern(pattern.clone()), 1.0)]);
    let drawn: Vec<Phrase> = (0..100).filter_map(|_| maker.phrase(&ground, range, &mut draw).ok()).collect();
    let mut wanted = drawn.iter().filter(|phrase| phrase.wanted.is_some()).peekable();
    assert!(wanted.peek().is_some() && wanted.all(|phrase| phrase.pieces[0].pattern == pattern));
    let freely = (0..100).filter_map(|_| free.phrase(&ground, range, &mut draw).ok()).filter(|it| joined(it)).count();
    assert!(freely < 10, "drawn freely it came {freely} times");
}
