//! Single recorded notes: of a sound font, sounded by a synthesizer of general purpose, or of a folder of files named after
//! their pitch (`A4.mp3`, `Cs3.wav`).
use std::fs::File;
use std::path::Path;
use std::sync::Arc;

use earfirst::outside::files::read_sound;
use rustysynth::{SoundFont, Synthesizer, SynthesizerSettings};

use crate::measure::RATE;
use crate::source::{Single, Source};

/// An instrument of a sound font: name, place in the General MIDI list (RP-003), lowest and highest note, whether it rings.
pub type Program = (&'static str, i32, i32, i32, bool);

/// The instruments that judge; no weights are learnt from them.
pub const JUDGED: [Program; 13] = [
    ("trumpet", 56, 54, 82, false),
    ("mutedtrumpet", 59, 55, 80, false),
    ("altosax", 65, 49, 80, false),
    ("tenorsax", 66, 44, 75, false),
    ("clarinet", 71, 50, 86, false),
    ("flute", 73, 60, 93, false),
    ("trombone", 57, 40, 70, false),
    ("tuba", 58, 28, 57, false),
    ("violin", 40, 55, 93, false),
    ("cello", 42, 36, 74, false),
    ("jazzguitar", 26, 40, 79, true),
    ("uprightbass", 32, 28, 57, true),
    ("piano", 0, 37, 88, true),
];

/// The notes of some programs of a sound font; a program of eight notes or fewer is left out.
pub fn font(path: &Path, programs: &[Program]) -> Vec<(String, Source)> {
    let font = Arc::new(SoundFont::new(&mut File::open(path).unwrap()).unwrap());
    let all = programs.iter().map(|(name, program, low, high, rings)| {
        let notes = (*low..=*high).filter_map(|key| Single::new(sounded(&font, *program, key), f64::from(key)));
        ((*name).to_owned(), Source::Recorded { notes: notes.collect(), rings: *rings })
    });
    all.filter(|(_, source)| matches!(source, Source::Recorded { notes, .. } if notes.len() > 8)).collect()
}

/// One note of a sound font as it is, held for a second and a half.
fn sounded(font: &Arc<SoundFont>, program: i32, key: i32) -> Vec<f32> {
    let mut settings = SynthesizerSettings::new(RATE as i32);
    (settings.enable_reverb_and_chorus, settings.maximum_polyphony, settings.block_size) = (false, 8, 16);
    let mut synth = Synthesizer::new(font, &settings).unwrap();
    synth.process_midi_message(0, 0xC0, program, 0);
    synth.note_on(0, key, 96);
    let count = (1.5 * RATE) as usize;
    let (mut left, mut right) = (vec![0.0; count], vec![0.0; count]);
    synth.render(&mut left, &mut right);
    left.iter().zip(&right).map(|(one, other)| 0.5 * (one + other)).collect()
}

/// Reads a folder in which each instrument has a folder of recorded notes; one of four notes or fewer is left out.
pub fn folder(path: &Path) -> Vec<(String, Source)> {
    let mut all = Vec::new();
    let mut folders: Vec<_> = std::fs::read_dir(path).unwrap().map(|entry| entry.unwrap().path()).collect();
    folders.sort();
    for folder in folders.iter().filter(|path| path.is_dir()) {
        let mut notes = Vec::new();
        gather(folder, &mut notes);
        notes.sort_by(|a, b| a.0.total_cmp(&b.0));
        let name = folder.file_name().unwrap().to_string_lossy().into_owned();
        let notes: Vec<Single> = notes.into_iter().map(|(_, note)| note).collect();
        if notes.len() > 4 {
            all.push((name, Source::Recorded { notes, rings: false }));
        }
    }
    all
}

fn gather(folder: &Path, notes: &mut Vec<(f64, Single)>) {
    for path in std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()) {
        if path.is_dir() {
            gather(&path, notes);
            continue;
        }
        let Some(label) = path.file_stem().and_then(|name| pitch_of(&name.to_string_lossy())) else { continue };
        let Ok(mut clip) = read_sound(&path) else { continue };
        if (clip.rate.per_second() - RATE).abs() > 1.0 {
            continue;
        }
        clip.samples.truncate((2.0 * RATE) as usize);
        // The labels of some sets are an octave off.
        let found = [0.0, 12.0, -12.0]
            .into_iter()
            .find_map(|off| Single::new(clip.samples.clone(), label + off).map(|it| (label + off, it)));
        notes.extend(found);
    }
}

/// The MIDI number of a name such as `Fs3`.
fn pitch_of(name: &str) -> Option<f64> {
    let letter = name.chars().next()?;
    let step =
        [('C', 0), ('D', 2), ('E', 4), ('F', 5), ('G', 7), ('A', 9), ('B', 11)].iter().find(|it| it.0 == letter)?.1;
    let rest = &name[1..];
    let (sharp, octave) = rest.strip_prefix(['s', '#']).map_or((0, rest), |octave| (1, octave));
    Some(f64::from(step + sharp + 12 * (octave.parse::<i32>().ok()? + 1)))
}
