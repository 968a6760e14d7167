//! Takes as files: NAME.wav, and NAME.tsv with onset, release (seconds) and pitch (MIDI number) of every note; `index.json`
//! names them and their parts.
use std::fmt::Write as _;
use std::path::Path;

use earfirst::outside::files::{read_sound, write_wav};
use earfirst::outside::sound::Clip;
use earfirst::outside::units::SampleRate;

use crate::corpus::{Heard, Take};
use crate::sing::Note;

/// Writes the takes into a folder.
pub fn write(folder: &Path, takes: &[Take]) {
    std::fs::create_dir_all(folder).unwrap();
    let mut index = Vec::new();
    for take in takes {
        let clip = Clip { rate: SampleRate::CD, samples: take.sound.clone() };
        write_wav(&folder.join(format!("{}.wav", take.name)), &clip).unwrap();
        let rows = take.notes.iter().map(|note| (note.onset, note.release, note.midi, String::new()));
        std::fs::write(folder.join(format!("{}.tsv", take.name)), lines(rows)).unwrap();
        let seconds = clip.length().0;
        let about =
            serde_json::json!({"name": take.name, "part": take.part, "notes": take.notes.len(), "seconds": seconds});
        index.push(about);
    }
    std::fs::write(folder.join("index.json"), serde_json::to_string_pretty(&index).unwrap()).unwrap();
}

/// Writes the notes that were heard into the folder `heard` beside the takes, with the time and the pitch at which each was first
/// told.
pub fn write_heard(folder: &Path, takes: &[Take], heard: &[Vec<Heard>]) {
    let folder = folder.join("heard");
    std::fs::create_dir_all(&folder).unwrap();
    for (take, heard) in takes.iter().zip(heard) {
        let rows =
            heard.iter().map(|one| (one.onset, one.release, one.midi, format!("\t{:.4}\t{:.3}", one.known, one.first)));
        std::fs::write(folder.join(format!("{}.tsv", take.name)), lines(rows)).unwrap();
    }
}

fn lines(rows: impl Iterator<Item = (f64, f64, f64, String)>) -> String {
    rows.fold(String::new(), |mut text, (onset, release, midi, more)| {
        let _ = writeln!(text, "{onset:.4}\t{release:.4}\t{midi:.3}{more}");
        text
    })
}

/// Reads the takes of a folder; sound of another rate is left out, and named.
pub fn read(folder: &Path) -> Vec<Take> {
    let index: serde_json::Value =
        serde_json::from_str(&std::fs::read_to_string(folder.join("index.json")).unwrap()).unwrap();
    let mut takes = Vec::new();
    for about in index.as_array().unwrap() {
        let name = about["name"].as_str().unwrap();
        let paths = ["wav", "flac"].map(|end| folder.join(format!("{name}.{end}")));
        let clip = read_sound(paths.iter().find(|path| path.exists()).unwrap()).unwrap();
        if clip.rate != SampleRate::CD {
            println!("{name} has another rate and is left out");
            continue;
        }
        let text = std::fs::read_to_string(folder.join(format!("{name}.tsv"))).unwrap();
        let notes = text.lines().filter_map(|line| {
            let mut cells = line.split('\t').map_while(|cell| cell.parse::<f64>().ok());
            Some(Note { onset: cells.next()?, release: cells.next()?, midi: cells.next()? })
        });
        let part = about["part"].as_str().unwrap().to_owned();
        takes.push(Take { name: name.to_owned(), part, sound: clip.samples, notes: notes.collect() });
    }
    takes
}
