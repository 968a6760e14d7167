//! What the onset detector learns from, as files for `train.py`: what the ear gives it of every frame, where notes truly begin, and where
//! the rules would begin one.
use std::fs::File;
use std::io::{BufReader, BufWriter, Read, Write};
use std::path::Path;

use earfirst::outside::notes::{Ear, EarSettings, Rules};
use earfirst::outside::units::{A440, Hertz, SampleRate};

use crate::corpus::{Heard, Take, hear};
use crate::performers::perform;
use crate::recorded::{self, Program};
use crate::source::{Single, Source};

/// Samples from one frame of the ear to the next, at 44.1 kHz.
const HOP: f64 = 128.0;

/// The instruments of a sound font that the onset detector learns from: none of those that judge.
const LEARNT: [Program; 24] = [
    ("electric piano", 4, 36, 90, true),
    ("vibraphone", 11, 53, 88, true),
    ("organ", 19, 40, 88, false),
    ("accordion", 21, 53, 88, false),
    ("mouth organ", 22, 60, 84, false),
    ("nylon guitar", 24, 40, 80, true),
    ("steel guitar", 25, 40, 80, true),
    ("muted guitar", 28, 40, 76, true),
    ("driven guitar", 29, 40, 76, false),
    ("fingered bass", 33, 28, 55, true),
    ("fretless bass", 35, 28, 55, true),
    ("viola", 41, 48, 84, false),
    ("double bass", 43, 28, 57, false),
    ("harp", 46, 36, 90, true),
    ("choir", 52, 48, 79, false),
    ("horn", 60, 41, 77, false),
    ("brass section", 61, 40, 80, false),
    ("soprano sax", 64, 56, 87, false),
    ("baritone sax", 67, 37, 68, false),
    ("oboe", 68, 58, 89, false),
    ("bassoon", 70, 34, 72, false),
    ("piccolo", 72, 74, 100, false),
    ("recorder", 74, 60, 91, false),
    ("pan flute", 75, 60, 88, false),
];

/// The recorded notes of a sound font, every third half step.
pub fn sources(font: &Path) -> Vec<Source> {
    let thinned = |source: Source| match source {
        Source::Recorded { notes, rings } => Source::Recorded { notes: notes.into_iter().step_by(3).collect(), rings },
        made => made,
    };
    recorded::font(font, &LEARNT).into_iter().map(|(_, source)| thinned(source)).collect()
}

/// Writes recorded notes into one file, to be learnt from where the sound font is not.
pub fn pack(path: &Path, sources: &[Source]) {
    let mut out = BufWriter::new(File::create(path).unwrap());
    for source in sources {
        let Source::Recorded { notes, rings } = source else { continue };
        out.write_all(&(notes.len() as u32).to_le_bytes()).unwrap();
        out.write_all(&[u8::from(*rings)]).unwrap();
        notes.iter().for_each(|note| note.write(&mut out));
    }
}

/// Reads the notes that `pack` wrote.
pub fn unpack(path: &Path) -> Vec<Source> {
    let mut file = BufReader::new(File::open(path).unwrap());
    let (mut count, mut rings) = ([0; 4], [0; 1]);
    let mut all = Vec::new();
    while file.read_exact(&mut count).is_ok() {
        file.read_exact(&mut rings).unwrap();
        let notes = (0..u32::from_le_bytes(count)).map(|_| Single::read(&mut file)).collect();
        all.push(Source::Recorded { notes, rings: rings[0] == 1 });
    }
    all
}

/// The rules alone, which tell every swing of a vibrato too.
fn all_told() -> Rules {
    Rules { onset_least: 0.0, onset_slurred: 0.0, ..Rules::default() }
}

/// Makes the performances `from..until` of a seed, hears them, and writes what is to be learnt: one file a thread.
pub fn write(folder: &Path, seed: u64, (from, until): (u64, u64), recorded: &[Source], threads: u64) {
    std::fs::create_dir_all(folder).unwrap();
    std::thread::scope(|scope| {
        for thread in 0..threads {
            scope.spawn(move || {
                let mut out = BufWriter::new(File::create(folder.join(format!("{seed}-{thread:02}.frames"))).unwrap());
                for number in (from + thread..until).step_by(threads as usize) {
                    let take = perform(seed, number, recorded);
                    write_take(&take, &hear(&take.sound, &all_told()), &mut out);
                }
            });
        }
    });
}

/// Writes what the onset detector is given of some takes, to try weights on.
pub fn write_kept(folder: &Path, takes: &[Take]) {
    std::fs::create_dir_all(folder).unwrap();
    let mut out = BufWriter::new(File::create(folder.join("kept.frames")).unwrap());
    takes.iter().for_each(|take| write_take(take, &hear(&take.sound, &all_told()), &mut out));
}

/// One take: counts of frames, notes and heard notes (u32); the inputs (f32); onset (in frames) and pitch of every note, then of
/// every heard one (f32).
pub fn write_take(take: &Take, heard: &[Heard], out: &mut impl Write) {
    let settings = EarSettings { rate: SampleRate::CD, lowest: Hertz(27.0), highest: Hertz(4300.0), a4: A440 };
    let mut ear = Ear::new(&settings);
    let frames = take.sound.len() / HOP as usize;
    for count in [frames, take.notes.len(), heard.len()] {
        out.write_all(&(count as u32).to_le_bytes()).unwrap();
    }
    for block in take.sound.chunks_exact(HOP as usize) {
        ear.hear(block, &mut |_| (), &mut |_| ());
        ear.detector_inputs().iter().for_each(|value| out.write_all(&value.to_le_bytes()).unwrap());
    }
    let frame = |seconds: f64| (seconds * crate::measure::RATE / HOP) as f32;
    let notes = take.notes.iter().map(|note| [frame(note.onset), note.midi as f32]);
    let told = heard.iter().map(|note| [frame(note.onset), note.midi as f32]);
    for value in notes.chain(told).flatten() {
        out.write_all(&value.to_le_bytes()).unwrap();
    }
}
