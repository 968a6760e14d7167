//! The program's theory, compared with published tables and with the answers of an independent program (music21 10.5.1; each file of
//! answers says how they were made).

use earfirst::outside::music::{
    ChordSymbol, Degree, Mode, PitchName, Range, Spelled, Tonality, chords, instrument, instruments, scale, scales,
    spell_degree, spell_degree_above,
};

fn rows(text: &'static str) -> impl Iterator<Item = Vec<&'static str>> {
    text.lines().filter(|line| !line.starts_with('#') && !line.is_empty()).map(|line| line.split('\t').collect())
}

fn joined(names: &[PitchName]) -> String {
    names.iter().map(ToString::to_string).collect::<Vec<_>>().join(" ")
}

#[test]
fn chord_tones_agree_with_music21_on_every_root() {
    let mut count = 0;
    for row in rows(include_str!("../data/music21/chords.tsv")) {
        let [symbol, tones] = row[..] else { panic!("{row:?}") };
        let chord = ChordSymbol::parse(symbol).unwrap();
        assert_eq!(joined(&chord.tones()), tones, "{symbol}");
        assert_eq!(chord.to_string(), symbol);
        count += 1;
    }
    assert_eq!(count, 928);
}

#[test]
fn scales_agree_with_music21_on_every_tonic() {
    let mut count = 0;
    for row in rows(include_str!("../data/music21/scales.tsv")) {
        let [name, tonic, notes] = row[..] else { panic!("{row:?}") };
        assert_eq!(joined(&scale(name).unwrap().on(tonic.parse().unwrap())), notes, "{tonic} {name}");
        count += 1;
    }
    assert_eq!(count, 144);
}

#[test]
fn degrees_agree_with_music21_in_letter_sign_and_octave() {
    let mut count = 0;
    for row in rows(include_str!("../data/music21/degrees.tsv")) {
        let [root, degree, note, midi] = row[..] else { panic!("{row:?}") };
        let root: Spelled = root.parse().unwrap();
        let reached = spell_degree_above(root, Degree::parse(degree).unwrap());
        assert_eq!(reached, note.parse().unwrap(), "{degree} above {root}");
        assert_eq!(reached.midi(), midi.parse::<i32>().unwrap());
        count += 1;
    }
    assert_eq!(count, 400);
}

#[test]
fn transpositions_agree_with_music21_where_it_agrees_with_practice() {
    for row in rows(include_str!("../data/music21/transpositions.tsv")) {
        let [id, half_steps] = row[..] else { panic!("{row:?}") };
        assert_eq!(instrument(id).unwrap().transposition.0, half_steps.parse::<i32>().unwrap(), "{id}");
    }
}

#[test]
fn every_instrument_goes_as_low_and_as_high_as_the_handbooks_have_it() {
    let spelled = |text: &str| text.parse::<Spelled>().unwrap();
    let mut told = Vec::new();
    for row in rows(include_str!("../data/compasses.tsv")) {
        let [id, low, high, sounds_from, sounds_to, first_low, first_high] = row[..] else { panic!("{row:?}") };
        let one = instrument(id).unwrap();
        let Range { low: lowest, high: highest } = one.advanced;
        assert_eq!([lowest, highest].map(|note| note.0.to_string()), [sounds_from, sounds_to], "{id}");
        assert_eq!(
            [lowest, highest].map(|note| one.written(note)),
            [low, high].map(|note| spelled(note).written()),
            "{id}"
        );
        let first = [one.developing.low, one.developing.high];
        assert_eq!(first, [first_low, first_high].map(|note| spelled(note).concert()), "{id}");
        told.push(id);
    }
    assert_eq!(told, instruments().iter().map(|one| one.id.as_str()).collect::<Vec<_>>());
}

#[test]
fn signatures_agree_with_music21() {
    for row in rows(include_str!("../data/music21/signatures.tsv")) {
        let [tonic, mode, signs] = row[..] else { panic!("{row:?}") };
        let named: PitchName = tonic.parse().unwrap();
        let key = match mode {
            "major" => Tonality::major(named.class(), tonic == "Gb"),
            _ => Tonality::minor(named.class()),
        };
        assert_eq!((key.tonic, key.mode == Mode::Minor), (named, mode == "minor"));
        assert_eq!(key.signature().sharps(), signs.parse::<i8>().unwrap(), "{key}");
    }
}

#[test]
fn the_usual_chords_and_scales_in_the_usual_keys_need_at_most_double_signs() {
    // The roots are those of the twelve keys in their usual spelling, up to six sharps and five flats (common practice).
    for root in ["C", "G", "D", "A", "E", "B", "F#", "Db", "Ab", "Eb", "Bb", "F"] {
        let root: PitchName = root.parse().unwrap();
        for named in chords() {
            for degree in named.quality.degrees() {
                let name = spell_degree(root, degree);
                assert!(name.alter.abs() <= 2, "{name} in {root}{}", named.quality);
                assert_eq!((name.class().get() - root.class().get() - degree.half_steps).rem_euclid(12), 0);
            }
        }
        for one in scales() {
            assert!(one.on(root).iter().all(|name| name.alter.abs() <= 2), "{root} {}", one.name);
        }
    }
}

#[test]
fn guide_tones_swap_when_roots_fall_by_fifths() {
    // Moving down fifths third and seventh swap: the third of IIm7 is the seventh of V7, the seventh falls a half step.
    let guides = |text: &str| {
        let chord = ChordSymbol::parse(text).unwrap();
        chord
            .quality
            .guide_tones()
            .into_iter()
            .map(|degree| spell_degree(chord.root, degree).to_string())
            .collect::<Vec<_>>()
    };
    assert_eq!(guides("Dm7"), ["F", "C"]);
    assert_eq!(guides("G7"), ["B", "F"]);
    assert_eq!(guides("Cmaj7"), ["E", "B"]);
    assert_eq!(guides("Db7"), ["F", "Cb"]);
}
