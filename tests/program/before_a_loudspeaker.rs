//! Trades before a loudspeaker: the band plays through a room into the microphone while the player answers, and labels of notes and joins
//! are compared with what was truly played. What is told of the band as if the player had played it counts against them.

use earfirst::outside::backing::BandWish;
use earfirst::outside::coach::Rng;
use earfirst::outside::cue::{Cue, CueSound};
use earfirst::outside::engine::trade;
use earfirst::outside::music::{ConcertKey, Intonation};
use earfirst::outside::room::Echo;
use earfirst::outside::simulated::{AnswerClock, PlayedAs, PlayingFault, SimulatedPlayer, Timbre, Truth};
use earfirst::outside::trade::{JudgedExchange, Trade, TradeMoment, TradeWish, sound};
use earfirst::outside::units::{A440, Beats, SampleRate, Seconds, Tempo};
use earfirst::outside::verdict::NoteLabel;

use crate::trade_stage::{LoudRoom, RATE, TradeStage, planned, player, power, traded, wish};

/// A wait that is planted at the first seam of every third phrase.
const WAIT: f64 = 0.16;

/// Waits at a seam of every third phrase, at the first and at the second in turn.
fn waits(n: usize, cue: &mut Cue) {
    if n.is_multiple_of(3) {
        let seam = cue.seam_notes().get(n / 3 % 2).or(cue.seam_notes().first()).copied();
        let later = Beats(WAIT / cue.tempo.beat().0);
        cue.line.notes.iter_mut().skip(seam.unwrap_or(usize::MAX)).for_each(|note| note.at = note.at + later);
    }
}

fn faulty(seed: u64) -> SimulatedPlayer {
    player(seed, [Timbre::Reed, Timbre::Brass, Timbre::Flute][seed as usize % 3], 0.3)
}

/// The mean power of a player where he sounds, over his first answers.
fn loudness(mut player: SimulatedPlayer, plan: &Trade) -> f64 {
    let clock = AnswerClock { cue_end: Seconds(0.0), beat_zero: None };
    let answers = plan.exchanges().take(6).map(|exchange| player.answer(&exchange.cue, clock, RATE, A440).clip.samples);
    let sounding = |samples: Vec<f32>| samples.chunks(441).filter(|it| power(it) > 1e-6).flatten().copied().collect();
    power(&answers.map(sounding).collect::<Vec<Vec<f32>>>().concat())
}

/// The band over a trade with its phrases.
fn band(plan: &Trade, rate: SampleRate, seed: u64) -> CueSound {
    let mut rng = Rng::new(seed);
    sound(plan, &BandWish::new(plan.tempo, rate), move || rng.uniform()).unwrap()
}

/// Where the player sits: with headphones, or before a loudspeaker, louder than the band by so many dB; and whether the band is taken out.
#[derive(Debug, Clone, Copy)]
struct Seat {
    level: Option<f64>,
    taken_out: bool,
}

/// One trade of so many choruses round the keys; of each answer what was truly played is told beside.
fn over_the_band(seed: u64, form: &str, choruses: u32, seat: Seat) -> Vec<(JudgedExchange, Truth)> {
    let tempo = Tempo(120.0 + 10.0 * (seed % 5) as f64);
    let plan = planned(&TradeWish { keys: &ConcertKey::FIFTHS, bars: 2, choruses, tempo, ..wish(form) }, seed);
    let room = seat.level.map(|level| LoudRoom::new(level, loudness(faulty(seed), &plan)));
    // An echo of another rate than the band's takes nothing out.
    let echo = Echo::new(if seat.taken_out { RATE } else { SampleRate::DEVICE });
    let mut rig = TradeStage::new(faulty(seed), seed, waits).in_room(room).heard_through(echo);
    traded(&mut rig, &plan, &|plan, rate| band(plan, rate, seed))
}

/// Labels that agree with what was played, and all labels: of notes, and of joins.
#[derive(Debug, Default)]
struct Agreement {
    answers: usize,
    notes: [usize; 2],
    joins: [usize; 2],
    /// Notes of answers that nobody played; each is a label that does not agree.
    nobodys: usize,
}

impl Agreement {
    fn add(&mut self, answer: &JudgedExchange, truth: &Truth) {
        self.answers += 1;
        let both = truth.related && answer.verdict.related;
        let nobodys = if both {
            (answer.verdict.extra as usize).saturating_sub(truth.extra as usize)
        } else {
            answer.heard.len().saturating_sub(truth.sounded)
        };
        self.nobodys += nobodys;
        self.notes[1] += truth.notes.len() + nobodys;
        if truth.related != answer.verdict.related {
            self.joins[1] += answer.exchange.cue.seam_notes().len();
            return;
        }
        if !truth.related {
            self.notes[0] += truth.notes.len();
            return;
        }
        let labels = answer.verdict.expected.iter().map(|note| note.label);
        self.notes[0] +=
            truth.notes.iter().zip(labels).filter(|(true_one, said)| agrees(true_one.played_as, *said)).count();
        let right = |n: usize| truth.notes[n].played_as == PlayedAs::Right;
        let beat = truth.pace.beat().0;
        let late = |n: usize| Some(truth.notes[n].onset?.0 - answer.asked.line.notes[n].at.0 * beat);
        for seam in &answer.seams {
            let n = seam.note;
            // What strays by less than a planted wait is as people play.
            let waited = late(n).zip(late(n - 1)).is_some_and(|(after, before)| (after - before).abs() > 0.09);
            let unmoved = !truth.faults.contains(&PlayingFault::Restart);
            self.joins[1] += 1;
            self.joins[0] += usize::from(seam.passed() == (right(n) && right(n - 1) && !(waited && unmoved)));
        }
    }

    fn share(of: [usize; 2]) -> f64 {
        of[0] as f64 / of[1].max(1) as f64
    }

    /// The share of all labels that agree.
    fn all(&self) -> f64 {
        Self::share([self.notes[0] + self.joins[0], self.notes[1] + self.joins[1]])
    }
}

fn agrees(played: PlayedAs, label: NoteLabel) -> bool {
    match (played, label) {
        (PlayedAs::Right, NoteLabel::Right | NoteLabel::Merged) | (PlayedAs::Missed, NoteLabel::Missed) => true,
        (PlayedAs::Wrong(by), NoteLabel::Wrong(said)) | (PlayedAs::Octave(by), NoteLabel::Octave(said)) => by == said,
        _ => false,
    }
}

/// Trades of forms in turn: what agrees of all their labels.
fn counted(seat: Seat, longer: bool) -> Agreement {
    let mut count = Agreement::default();
    for seed in 0..if longer { 17 } else { 1 } {
        let form = ["ii-v-i", "blues-ii-v", "rhythm-changes"][seed as usize % 3];
        let choruses = match (longer, form) {
            (false, _) => 6,
            (true, "ii-v-i") => 9,
            (true, _) => 3,
        };
        over_the_band(71 + seed, form, choruses, seat).iter().for_each(|(answer, truth)| count.add(answer, truth));
    }
    let [notes, joins] = [count.notes, count.joins].map(Agreement::share);
    println!("{seat:?}: {count:?}, notes {notes:.3}, joins {joins:.3}, all {:.3}", count.all());
    count
}

/// Labels are held to these shares, of notes and joins together, over a few answers as loud as the band; with `EARFIRST_LONGER` over
/// three hundred answers each, with headphones and louder than the band too.
#[test]
fn over_a_band_from_a_loudspeaker_labels_agree_with_what_was_played() {
    let longer = std::env::var_os("EARFIRST_LONGER").is_some();
    let all = [(Some(0.0), 0.92), (None, 0.97), (Some(10.0), 0.97)];
    for (level, wanted) in all.into_iter().take(if longer { 3 } else { 1 }) {
        let count = counted(Seat { level, taken_out: true }, longer);
        // A few answers may miss the mark that three hundred reach.
        let slack = if longer { 0.0 } else { 0.05 };
        assert!(count.all() >= wanted - slack, "{level:?}: {count:?}");
    }
}

/// As loud as the band, the player is lost where it is not taken out: else the test above would show nothing.
#[test]
fn without_taking_the_band_out_labels_tell_of_notes_that_nobody_played() {
    let [with, without] = [true, false].map(|taken_out| counted(Seat { level: Some(0.0), taken_out }, false));
    println!("taken out {:.3}, left in {:.3}", with.all(), without.all());
    assert!(with.all() > without.all() + 0.2, "{with:?}, {without:?}");
}

#[test]
fn before_a_loudspeaker_a_chorus_of_silence_stops_the_band_and_a_held_note_brings_it_back() {
    let seed = 6;
    let plan = planned(&TradeWish { bars: 2, tempo: Tempo(160.0), ..wish("blues-ii-v") }, seed);
    let room = LoudRoom::new(0.0, loudness(faulty(seed), &plan));
    let stage = TradeStage::new(faulty(seed), seed, |_, _| ()).missing(1).in_room(Some(room));
    let mut rig = stage.heard_through(Echo::new(RATE));
    let mut told = Vec::new();
    let mut tell = |moment: Option<TradeMoment>| {
        match moment {
            Some(TradeMoment::Silent(..)) => told.push("silence".to_owned()),
            Some(TradeMoment::Again(_)) => told.push("a held note".to_owned()),
            Some(TradeMoment::Judged(_, answers)) => {
                told.push(format!("{} answers", answers.iter().filter(|answer| answer.verdict.related).count()));
            }
            Some(TradeMoment::End) => told.push("end".to_owned()),
            _ => {}
        }
        true
    };
    let sounded = |plan: &Trade, rate: SampleRate| band(plan, rate, seed);
    trade(&mut rig, &plan, &sounded, (Some(Seconds(0.0)), Intonation::Unscored), &mut tell).unwrap();
    assert_eq!(told, ["0 answers", "silence", "a held note", "6 answers", "end"]);
}
