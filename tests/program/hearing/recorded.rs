//! Notes of real players (`tests/data/recorded`, with their licence). The label of each recording names the note. How far the player was
//! from that note is measured by another method, YIN of the crate pitch-detection (de Cheveigne and Kawahara, 2002).

use super::made::heard;
use earfirst::outside::files::read_sound;
use earfirst::outside::notes::HeardNote;
use earfirst::outside::sound::Clip;
use earfirst::outside::units::{Seconds, median};
use pitch_detection::detector::PitchDetector;
use pitch_detection::detector::yin::YINDetector;
use std::path::Path;

const RECORDED: [(&str, f64); 9] = [
    ("clarinet-D3", 50.0),
    ("clarinet-F4", 65.0),
    ("clarinet-D5", 74.0),
    ("french-horn-G2", 43.0),
    ("french-horn-F3", 53.0),
    ("french-horn-C4", 60.0),
    ("trombone-As1", 34.0),
    ("trombone-Ds3", 51.0),
    ("trombone-D4", 62.0),
];

fn recorded(name: &str) -> Clip {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/recorded");
    read_sound(&folder.join(name).with_extension("ogg")).unwrap()
}

#[test]
fn a_recording_begun_within_a_note_has_the_rest_of_it_and_the_next() {
    for (name, label) in RECORDED {
        let whole = recorded(name);
        for late_s in [0.3, 0.4, 0.5, 0.6, 0.8] {
            let mut clip = whole.clone();
            clip.samples.drain(..clip.rate.samples(Seconds(late_s)));
            let end = clip.samples.len();
            clip.mix(end, &whole.samples);
            let notes = heard(&clip);
            let right = |n: &&HeardNote| (n.pitch.0 - label).abs() < 0.5;
            let first = notes.iter().find(right).unwrap_or_else(|| panic!("{name} from {late_s}: {notes:?}"));
            assert!(first.onset < Seconds(0.05), "{name} from {late_s}: {notes:?}");
            let next = notes.iter().filter(right).any(|n| n.onset > Seconds(1.1 - late_s) && n.length().0 > 0.5);
            assert!(next, "{name} from {late_s}: {notes:?}");
        }
    }
}

#[test]
fn a_recorded_note_is_heard_as_the_note_that_was_played() {
    let mut too_many = Vec::new();
    for (name, label) in RECORDED {
        let clip = recorded(name);
        let notes = heard(&clip);
        let (long, short): (Vec<HeardNote>, Vec<HeardNote>) = notes.into_iter().partition(|n| n.length().0 > 0.5);
        assert_eq!(long.len(), 1, "{name}: {long:?} {short:?}");
        assert!((long[0].pitch.0 - label).abs() < 0.5, "{name}: {:?}", long[0].pitch);
        let mut yin = YINDetector::new(4096, 2048);
        let pitches: Vec<f64> = (0..6)
            .filter_map(|i| yin.get_pitch(&clip.samples[17_640 + 2048 * i..][..4096], 44_100, 0.0, 0.8))
            .map(|p| 69.0 + 12.0 * (f64::from(p.frequency) / 440.0).log2())
            .collect();
        let theirs = median(&pitches).unwrap();
        assert!((long[0].pitch.0 - theirs).abs() < 0.1, "{name}: {:?} and {theirs}", long[0].pitch);
        too_many.extend(short.iter().map(|n| (name, n.pitch.0, n.confidence)));
    }
    // Two short notes too many were measured: the clarinet's F4 swells and is heard to begin twice, and the trombone's D4 speaks a
    // twelfth too high at first.
    assert!(too_many.len() <= 2, "{too_many:?}");
}
