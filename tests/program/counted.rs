//! What a listener makes of sittings before a loudspeaker, counted.

use earfirst::outside::notes::HeardNote;

use crate::rooms::{Made, Manner, Plan, Room, listen, made};

/// Notes that begin this long before the end of a cue belong to the answer, as the drill has it.
const JUMP: f64 = 0.5;

/// What became of sittings of one kind.
#[derive(Debug, Clone, Default)]
pub struct Count {
    pub cues: usize,
    /// Cues after which a note that nobody played was judged.
    pub spoilt: usize,
    /// Notes told that nobody played, apart from any note of the player's.
    pub ours: usize,
    /// Notes told that nobody played, beside one of the player's: pieces of it, or our own.
    pub beside: usize,
    /// Played after the end of the cue, and of these heard, and of these within 20 ms.
    pub after: [usize; 3],
    /// The same before the end of the cue.
    pub during: [usize; 3],
}

impl Count {
    pub fn add(&mut self, made: &Made, notes: &[HeardNote], show: bool) {
        let mut taken = vec![false; notes.len()];
        for truth in &made.played {
            let near = |it: &&(usize, &HeardNote)| {
                !taken[it.0] && (it.1.onset.0 - truth.onset).abs() < 0.1 && (it.1.pitch.0 - truth.pitch).abs() < 0.5
            };
            let all: Vec<(usize, &HeardNote)> = notes.iter().enumerate().collect();
            let off = |it: &(usize, &HeardNote)| (it.1.onset.0 - truth.onset).abs();
            let found = all.iter().filter(near).min_by(|a, b| off(a).total_cmp(&off(b)));
            let count = if truth.during { &mut self.during } else { &mut self.after };
            count[0] += 1;
            if let Some(it) = found {
                taken[it.0] = true;
                count[1] += 1;
                count[2] += usize::from(off(it) <= 0.02);
            }
        }
        self.cues += made.cues.len();
        let mut spoilt = vec![false; made.cues.len()];
        for (note, _) in notes.iter().zip(&taken).filter(|(_, taken)| !**taken) {
            let onset = note.onset.0;
            let beside = made.played.iter().any(|it| it.onset - 0.03 < onset && onset < it.until + 0.08);
            *(if beside { &mut self.beside } else { &mut self.ours }) += 1;
            let before = made.cues.iter().rposition(|(_, begins)| begins.0 < onset + 0.05);
            if let Some(cue) = before.filter(|_| !beside) {
                let (sounded, begins) = &made.cues[cue];
                spoilt[cue] |= onset >= begins.0 + sounded.end.0 - JUMP;
            }
            if show {
                let cue = before.unwrap_or(0);
                let (sounded, begins) = &made.cues[cue];
                let pitches: Vec<f64> = sounded.notes.iter().map(|note| note.pitch.0).collect();
                println!(
                    "  {} at {onset:.3} cue {cue} {pitches:?} onset {:+.3} after its end ({:+.3} after its begin), length {:.3}, pitch {:.2} (told {:.2}), {:.1} dB, confidence {:.2}",
                    if beside { "beside" } else { "OURS" },
                    onset - begins.0 - sounded.end.0,
                    onset - begins.0,
                    note.length().0,
                    note.pitch.0,
                    note.announced_pitch.0,
                    note.loudness.0,
                    note.confidence
                );
            }
        }
        self.spoilt += spoilt.iter().filter(|it| **it).count();
    }
}

/// `sittings` of one kind, listened to.
pub fn count(sittings: std::ops::Range<usize>, manner: Manner, own: bool, headphones: bool) -> Count {
    let show = std::env::var_os("EARFIRST_SHOW").is_some();
    let mut count = Count::default();
    for number in sittings {
        let plan = Plan::of(number, manner, own);
        let plan = if headphones { Plan { room: Room::Headphones, ..plan } } else { plan };
        if show {
            println!("{plan:?}");
        }
        let made = made(&plan);
        let (_, notes) = listen(&made);
        let before = count.clone();
        count.add(&made, &notes, show);
        if show {
            let (a, b) = (&count, &before);
            println!(
                "  ours {} beside {} lost after {} of {} during {} of {}",
                a.ours - b.ours,
                a.beside - b.beside,
                a.after[0] - b.after[0] - (a.after[1] - b.after[1]),
                a.after[0] - b.after[0],
                a.during[0] - b.during[0] - (a.during[1] - b.during[1]),
                a.during[0] - b.during[0]
            );
        }
    }
    count
}
