//! How well the ear hears: a corpus of made sound with exact truth, its score, and the sound that the onset detector learns from.
//!
//! `cargo bench --bench ear -- --seed 1` makes one draw, hears it and prints its table; `--font FILE` takes the instruments of a
//! sound font, `--recorded FOLDER` adds recorded notes, `--write FOLDER` keeps sound and truth, `--score FOLDER` scores what
//! lies there, `--short` makes a few lines, `--performers N` makes N performances of the kind that the detector learns from instead. Rules may be chosen on the seeds below 1000; the seeds from 1000 on judge, each
//! looked at once.
#![allow(clippy::unwrap_used, reason = "a bench that cannot go on stops")]

mod around;
#[path = "../../tests/program/chance.rs"]
#[allow(dead_code, reason = "another binary throws the rest")]
mod chance;
#[allow(dead_code, reason = "a test draws a few")]
mod corpus;
mod hard;
mod kept;
mod learn;
mod measure;
mod performers;
mod recorded;
mod score;
mod sing;
mod source;

use std::collections::BTreeMap;
use std::path::PathBuf;

use corpus::{Heard, Sounds, Take};
use earfirst::outside::notes::Rules;
use score::Tally;

/// What was typed.
#[derive(Debug, Default)]
struct Typed {
    seed: u64,
    font: Option<PathBuf>,
    recorded: Option<PathBuf>,
    write: Option<PathBuf>,
    score: Option<PathBuf>,
    short: bool,
    /// The ear's rules; `--rule` changes some of them for a comparison.
    rules: Rules,
    /// A file into which recorded notes are packed, and one from which they are read.
    pack: Option<PathBuf>,
    packed: Option<PathBuf>,
    /// The folder into which is written what is to be learnt, and the number of performances.
    learn: Option<PathBuf>,
    many: u64,
    /// The number of made performances to be heard instead of a draw.
    performers: u64,
}

fn main() {
    let typed = typed();
    if let (Some(pack), Some(font)) = (&typed.pack, &typed.font) {
        return learn::pack(pack, &learn::sources(font));
    }
    if let Some(folder) = &typed.learn {
        if let Some(kept) = &typed.score {
            return learn::write_kept(folder, &kept::read(kept));
        }
        let font = || typed.font.as_deref().map(learn::sources).unwrap_or_default();
        let recorded = typed.packed.as_deref().map_or_else(font, learn::unpack);
        let threads = std::thread::available_parallelism().map_or(1, |count| count.get() as u64);
        return learn::write(folder, typed.seed, (0, typed.many), &recorded, threads);
    }
    let takes = match &typed.score {
        Some(folder) => kept::read(folder),
        None if typed.performers > 0 => {
            let sources = typed.font.as_deref().map(learn::sources).unwrap_or_default();
            (0..typed.performers).map(|number| performers::perform(typed.seed, number, &sources)).collect()
        }
        None => {
            let (font, recorded) = (typed.font.as_deref(), typed.recorded.as_deref());
            corpus::draw(typed.seed, &Sounds { font, recorded, short: typed.short })
        }
    };
    if let Some(folder) = &typed.write {
        kept::write(folder, &takes);
    }
    let began = std::time::Instant::now();
    let heard: Vec<Vec<Heard>> = takes.iter().map(|take| corpus::hear(&take.sound, &typed.rules)).collect();
    let seconds = takes.iter().map(|take| take.sound.len()).sum::<usize>() as f64 / measure::RATE;
    if let Some(folder) = &typed.write {
        kept::write_heard(folder, &takes, &heard);
    }
    table(&takes, &heard);
    println!("{seconds:.0} s of sound, heard {:.0} times as fast", seconds / began.elapsed().as_secs_f64());
}

/// Prints the score of every part.
fn table(takes: &[Take], heard: &[Vec<Heard>]) {
    let mut parts: BTreeMap<&str, Tally> = BTreeMap::new();
    for (take, heard) in takes.iter().zip(heard) {
        parts.entry(&take.part).or_default().add(take, heard);
    }
    for (part, tally) in &parts {
        println!("{part:18} {}", tally.line());
    }
    let mut all = Tally::default();
    takes.iter().zip(heard).for_each(|(take, heard)| all.add(take, heard));
    for (count, told, right) in all.confidences() {
        println!("told with {told:.3}, right {right:.3} ({count} notes)");
    }
}

fn typed() -> Typed {
    let mut typed = Typed { seed: 1, many: 1500, ..Typed::default() };
    let mut words = std::env::args().skip(1);
    while let Some(word) = words.next() {
        let mut path = || words.next().map(PathBuf::from);
        match word.as_str() {
            "--seed" => typed.seed = path().and_then(|it| it.to_str()?.parse().ok()).unwrap(),
            "--font" => typed.font = path(),
            "--recorded" => typed.recorded = path(),
            "--write" => typed.write = path(),
            "--score" => typed.score = path(),
            "--pack" => typed.pack = path(),
            "--packed" => typed.packed = path(),
            "--learn" => typed.learn = path(),
            "--many" => typed.many = path().and_then(|it| it.to_str()?.parse().ok()).unwrap(),
            "--performers" => typed.performers = path().and_then(|it| it.to_str()?.parse().ok()).unwrap(),
            "--rule" => {
                let (name, value) = words
                    .next()
                    .and_then(|it| Some((it.split_once('=')?.0.to_owned(), it.split_once('=')?.1.parse().ok()?)))
                    .unwrap();
                assert!(typed.rules.set(&name, value), "there is no rule {name}");
            }
            "--short" => typed.short = true,
            _ => {}
        }
    }
    typed
}
