//! Planted faults before the microphone: a robot answers the drill, as it ships, with one fault in each answer, and what the program
//! says is compared with what was planted, by the rule of `tests/planted`. The same sound is also heard and judged without a sound card.
//!
//! `EARFIRST_LONGER=1` runs it: twenty answers a kind, drills in several rooms beside each other, most of an hour of practice in all.
//! `EARFIRST_ROOMS`, `EARFIRST_EACH`, `EARFIRST_KIND`, `EARFIRST_SEED` and `EARFIRST_SHOW` ask for less, more or other.

use std::collections::BTreeMap;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use earfirst::outside::units::median;

use crate::at_the_microphone::Room;
use crate::cases::FAULTS;
use crate::planted_answer::{Came, Ready, calibrated};
use crate::rhythm;
use crate::robot::Robot;
use crate::rule::{CLEAN, beside};
use crate::sound_card::{Card, on_a_virtual_card};

/// Counts over the answers of one kind.
#[derive(Debug, Default)]
struct Count {
    of: u32,
    /// Answers in which every planted fault is told, and in which something is told besides: live, and without a sound card.
    told: [u32; 2],
    besides: [u32; 2],
    /// Answers of which live and without a sound card the same faults are told.
    same: u32,
    /// Answers played again because sound got lost.
    lost: usize,
    /// How much later each note was heard live, seconds.
    moved: Vec<f64>,
}

impl Count {
    fn enter(&mut self, came: &Came) {
        let planted = &came.ready.case.planted;
        let both = [&came.live, &came.offline];
        self.of += 1;
        self.told.iter_mut().zip(both).for_each(|(told, said)| *told += u32::from(said.tells(planted)));
        self.besides
            .iter_mut()
            .zip(both)
            .for_each(|(more, said)| *more += u32::from(!said.besides(planted).is_empty()));
        self.same += u32::from(came.live.besides(&[]) == came.offline.besides(&[]));
        self.lost += came.lost;
        self.moved.extend(came.moved());
    }
}

/// Tells of an answer in which live something else went astray than without a sound card, or with `all` anything did.
fn shown(came: &Came, all: bool) {
    let planted = &came.ready.case.planted;
    let [live, offline] = [&came.live, &came.offline].map(|said| (said.tells(planted), said.besides(planted)));
    if live == offline && !(all && (!live.0 || !live.1.is_empty())) {
        return;
    }
    let (kind, seed, take) = (came.ready.kind, came.ready.seed, &came.ready.case.take);
    println!("{kind} {seed} {} {} {planted:?}", take.instrument.id, take.asked.tempo.0);
    println!("    live    {} {:?}: {}", live.0, live.1, came.live.sentence);
    println!("    offline {} {:?}: {}", offline.0, offline.1, came.offline.sentence);
    came.heard.iter().for_each(|heard| println!("{}", beside(&came.ready.case, heard)));
}

fn number(name: &str) -> Option<u64> {
    std::env::var(name).ok().and_then(|it| it.parse().ok())
}

/// The cases in the order in which they are played.
fn wanted() -> Vec<(&'static str, u64)> {
    let only = std::env::var("EARFIRST_KIND").unwrap_or_default();
    let kinds = CLEAN.into_iter().chain(FAULTS).chain(["two faults"]).filter(|kind| !rhythm::KINDS.contains(kind));
    let (each, seed) = (number("EARFIRST_EACH").unwrap_or(20), number("EARFIRST_SEED").unwrap_or(20_261));
    let cases = |(n, kind): (usize, &'static str)| (0..each).map(move |one| (kind, seed + each * n as u64 + one));
    kinds.enumerate().filter(|(_, kind)| kind.contains(&only)).flat_map(cases).collect()
}

/// Plays all the cases, in several rooms at once.
fn measured(card: &Card) -> BTreeMap<&'static str, Count> {
    let (counts, next, cases) = (Mutex::new(BTreeMap::new()), AtomicUsize::new(0), wanted());
    std::thread::scope(|scope| {
        for place in 0..number("EARFIRST_ROOMS").unwrap_or(4) as usize {
            let (counts, next, cases) = (&counts, &next, &cases);
            scope.spawn(move || {
                let mut room = Room::new(card, place);
                let settings = calibrated(&mut room, &card.file(&format!("room{place}")));
                while let Some((kind, seed)) = cases.get(next.fetch_add(1, Ordering::Relaxed)) {
                    let Some(came) = Came::of(&room, &settings, Ready::new(kind, *seed)) else {
                        println!("{kind} {seed}: its sound got lost again and again");
                        continue;
                    };
                    let mut counts = counts.lock().unwrap();
                    let count: &mut Count = counts.entry(*kind).or_default();
                    count.enter(&came);
                    shown(&came, number("EARFIRST_SHOW").is_some());
                }
            });
        }
    });
    counts.into_inner().unwrap()
}

/// Prints the figures of each kind, and how much later notes are heard live.
fn table(counts: &BTreeMap<&'static str, Count>) {
    for (kind, count) in counts {
        let Count { of, told, besides, same, lost, .. } = count;
        println!(
            "{kind:32} {of:3} live told {} besides {}; offline told {} besides {}; the same faults {same}; lost {lost}",
            told[0], besides[0], told[1], besides[1]
        );
    }
    let mut moved: Vec<f64> = counts.values().flat_map(|count| &count.moved).map(|moved| 1000.0 * moved).collect();
    moved.sort_by(f64::total_cmp);
    let at = |share: f64| moved.get((share * moved.len() as f64) as usize).copied().unwrap_or(0.0);
    println!(
        "{} notes heard live later by {:.2} ms (median), {:.2} (5 %), {:.2} (95 %)",
        moved.len(),
        median(&moved).unwrap_or(0.0),
        at(0.05),
        at(0.95)
    );
}

#[test]
fn before_the_microphone_every_planted_fault_is_told_as_it_is_without_a_sound_card() {
    if std::env::var_os("EARFIRST_LONGER").is_none() {
        return println!("skipped: half an hour; EARFIRST_LONGER=1 runs it");
    }
    let name = "planted_live::before_the_microphone_every_planted_fault_is_told_as_it_is_without_a_sound_card";
    on_a_virtual_card(name, |card: &Card| {
        println!("recorded instruments: {}", Robot::get().recorded());
        let counts = measured(card);
        table(&counts);
        let sum = |of: &dyn Fn(&Count) -> u32| -> f64 { f64::from(counts.values().map(of).sum::<u32>()) };
        let all = sum(&|count| count.of);
        let [live, offline] = [0, 1].map(|n| sum(&|count| count.told[n]) / all);
        assert!(live >= 0.85 && live > offline - 0.05, "told: live {live:.3}, without a sound card {offline:.3}");
    });
}
