//! How well a player is heard while a band plays through a loudspeaker beside the microphone: takes of a made room with exact truth, heard
//! without any help, through the canceller, through canceller and mask, and as the program hears.
//!
//! `cargo bench --bench band -- --seed 1` draws 27 takes of 30 s and prints the table; `--font FILE` takes the players' instruments of
//! a sound font, `--levels 10,0` some levels only (player over band, dB), `--still` leaves the delay where it is, `--takes 9` draws
//! fewer, in `--absent` nobody plays, `--only all` hears in one way, `--soft 20` makes the player softer, `--late 0.5` has the band come
//! later than is told, with `--early` the player warms up in the lead-in. Rules may be chosen on the seeds below 1000; the seeds from 1000 on judge.
#![allow(clippy::unwrap_used, reason = "a bench that cannot go on stops")]

#[path = "../ear/around.rs"]
#[allow(dead_code, reason = "another bench takes the rest")]
mod around;
#[path = "../../tests/program/chance.rs"]
#[allow(dead_code, reason = "another binary throws the rest")]
mod chance;
#[path = "../ear/corpus.rs"]
#[allow(dead_code, reason = "another bench takes the rest")]
mod corpus;
#[path = "../ear/hard.rs"]
#[allow(dead_code, reason = "another bench takes the rest")]
mod hard;
mod heard;
#[path = "../ear/measure.rs"]
#[allow(dead_code, reason = "another bench takes the rest")]
mod measure;
#[path = "../ear/recorded.rs"]
#[allow(dead_code, reason = "another bench takes the rest")]
mod recorded;
#[path = "../ear/score.rs"]
#[allow(dead_code, reason = "another bench takes the rest")]
mod score;
#[path = "../ear/sing.rs"]
#[allow(dead_code, reason = "another bench takes the rest")]
mod sing;
#[path = "../ear/source.rs"]
#[allow(dead_code, reason = "another bench takes the rest")]
mod source;
mod takes;

use std::path::PathBuf;

use chance::Chance;
use heard::Design;
use score::Tally;
use source::{Source, Timbre};
use takes::BandTake;

/// What was typed.
#[derive(Debug)]
struct Typed {
    seed: u64,
    font: Option<PathBuf>,
    levels: Vec<f64>,
    still: bool,
    absent: bool,
    early: bool,
    /// By how much the player is softer, dB.
    soft: f64,
    /// By how much the band comes later than is told, seconds.
    late: f64,
    takes: usize,
    designs: Vec<Design>,
    /// Whether each take is shown.
    show: bool,
}

/// The sums of one line of the table.
#[derive(Debug, Default)]
struct Sums {
    tally: Tally,
    /// Notes told in rests, and the length of the rests in minutes.
    rests: (usize, f64),
    /// Echo taken out of each take, dB.
    taken_out: Vec<f64>,
    /// How much the band covers, and the F1 of the take.
    covers: Vec<(f64, f64)>,
}

fn main() {
    let typed = typed();
    let takes: Vec<BandTake> = {
        let players = players(typed.seed, &typed);
        let one = |k| takes::take(typed.seed, k, &players, typed.still);
        let asked = |take: BandTake| {
            let take = take.softer(typed.soft).later(typed.late);
            let take = if typed.early { take.warmed_up() } else { take };
            if typed.absent { take.without_player() } else { take }
        };
        (0..typed.takes).map(one).map(asked).collect()
    };
    println!("seed {}, {} takes of {:.0} s, player over band in dB", typed.seed, takes.len(), takes::LENGTH);
    for level in &typed.levels {
        for design in &typed.designs {
            let mut sums = Sums::default();
            takes.iter().for_each(|take| enter(&mut sums, take, *design, *level, typed.show));
            tell(&sums, *design, *level);
        }
    }
}

/// Hears one take and enters what came of it.
fn enter(sums: &mut Sums, take: &BandTake, design: Design, level: f64, show: bool) {
    let level = if design == Design::Alone { 300.0 } else { level };
    let microphone = take.microphone(level);
    let heard = heard::hear(take, &microphone, design);
    // Nobody answers in the lead-in.
    let told: Vec<_> = heard.notes.iter().copied().filter(|note| note.onset >= take.lead_in).collect();
    let mut one = Tally::default();
    one.add(&take.truth, &told);
    sums.tally.add(&take.truth, &told);
    let (rest, length) = take.in_rests(&told);
    sums.rests.0 += rest;
    sums.rests.1 += length / 60.0;
    sums.taken_out.extend(heard.taken_out(take, level));
    sums.covers.extend(heard.covers.map(|covers| (covers, one.f1())));
    if show {
        let out = heard.taken_out(take, level).unwrap_or(0.0);
        let ppm = heard.ppm.iter().map(|it| format!("{:.1}", it - take.ppm)).collect::<Vec<_>>().join(" ");
        println!(
            "  {:28} {level:5.0} {design:?} F1 {:.3} strict {:.3} in rests {rest} out {out:.1} dB covers {:.1} ppm off {ppm}",
            take.truth.name,
            one.f1(),
            one.f1_strict(),
            heard.covers.unwrap_or(f64::NAN)
        );
    }
}

/// Prints one line of the table.
fn tell(sums: &Sums, design: Design, level: f64) {
    let mut out = sums.taken_out.clone();
    out.sort_by(f64::total_cmp);
    let (few, length) = sums.rests;
    println!(
        "{level:5.0} {:20} F1 {:.3}  strict {:.3}  false in rests {:5.1} a minute  taken out {:5.1} dB  advised {}",
        format!("{design:?}"),
        sums.tally.f1(),
        sums.tally.f1_strict(),
        few as f64 / length.max(1e-9),
        out.get(out.len() / 2).copied().unwrap_or(0.0),
        advice(&sums.covers),
    );
}

/// For some bounds: how many takes are refused, and the mean and the lowest F1 of those kept.
fn advice(covers: &[(f64, f64)]) -> String {
    let one = |bound: f64| {
        let kept: Vec<f64> = covers.iter().filter(|it| it.0 <= bound).map(|it| it.1).collect();
        let mean = kept.iter().sum::<f64>() / kept.len().max(1) as f64;
        let lowest = kept.iter().copied().fold(1.0, f64::min);
        format!("over {bound:.0}: {} of {}, kept {mean:.3} from {lowest:.3}", covers.len() - kept.len(), covers.len())
    };
    [-2.0, -3.0, -4.0].map(one).join("; ")
}

/// The players: instruments of a font and a voice, or tones made here.
fn players(seed: u64, typed: &Typed) -> Vec<(String, Source)> {
    let made = |kind: &str| {
        let chance = &mut Chance::new(seed ^ corpus::named(kind));
        (kind.to_owned(), Source::Made(Timbre::draw(kind, chance)))
    };
    let Some(font) = &typed.font else {
        return ["brass", "reed", "voice", "plucked", "flute", "clarinet", "bow"].map(made).into();
    };
    let wanted = ["jazzguitar", "altosax", "tenorsax", "trumpet", "flute", "trombone", "cello"];
    let programs: Vec<_> = recorded::JUDGED.into_iter().filter(|it| wanted.contains(&it.0)).collect();
    let mut all = recorded::font(font, &programs);
    all.push(made("voice"));
    all
}

fn typed() -> Typed {
    let mut typed = Typed {
        seed: 1,
        font: None,
        levels: vec![20.0, 10.0, 5.0, 0.0, -5.0],
        still: false,
        absent: false,
        early: false,
        soft: 0.0,
        late: 0.0,
        takes: 27,
        designs: Design::ALL.to_vec(),
        show: false,
    };
    let mut words = std::env::args().skip(1);
    while let Some(word) = words.next() {
        match word.as_str() {
            "--seed" => typed.seed = words.next().unwrap().parse().unwrap(),
            "--font" => typed.font = words.next().map(PathBuf::from),
            "--levels" => typed.levels = words.next().unwrap().split(',').map(|it| it.parse().unwrap()).collect(),
            "--still" => typed.still = true,
            "--absent" => typed.absent = true,
            "--early" => typed.early = true,
            "--soft" => typed.soft = words.next().unwrap().parse().unwrap(),
            "--late" => typed.late = words.next().unwrap().parse().unwrap(),
            "--takes" => typed.takes = words.next().unwrap().parse().unwrap(),
            "--only" => {
                let wanted = words.next().unwrap();
                typed.designs.retain(|it| format!("{it:?}").eq_ignore_ascii_case(&wanted));
            }
            "--show" => typed.show = true,
            _ => {}
        }
    }
    typed
}
