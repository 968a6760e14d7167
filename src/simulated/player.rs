use rand_chacha::ChaCha8Rng;

use crate::cue::{Cue, Timing};
use crate::music::{ConcertKey, HalfSteps, Instrument, Range};
use crate::simulated::chance::PlayerDraws;
use crate::simulated::counting::{ELSEWHERE, LATER, counted, held, numbered};
use crate::simulated::faults::{Spoiled, spoil};
use crate::simulated::hurried::Hurried;
use crate::simulated::intent::{Intent, PlayedNote};
use crate::simulated::skill::Skill;
use crate::simulated::timbre::Timbre;
use crate::simulated::truth::{NoteTruth, PlayedAs, PlayingFault, Truth};
use crate::simulated::voice::{Performed, sing};
use crate::sound::Clip;
use crate::units::{Cents, Hertz, Midi, SampleRate, Seconds};

/// The streams of the generator from which the sound, a player's skill and the count of taps are drawn; what is played comes from
/// stream 0.
const SOUND: u64 = 1;
const SKILL: u64 = 2;
const COUNTING: u64 = 3;
/// The least share of answers in which something goes wrong.
const LEAST_FAULTY: f64 = 0.12;

/// How often each kind of fault comes, relative to the other kinds.
const WEIGHTS: [(PlayingFault, f64); 14] = [
    (PlayingFault::WrongNote, 4.0),
    (PlayingFault::MissedNote, 3.0),
    (PlayingFault::ExtraNote, 2.0),
    (PlayingFault::OctaveNote, 1.5),
    (PlayingFault::WholeOctave, 1.5),
    (PlayingFault::WrongKey, 1.5),
    (PlayingFault::Restart, 2.0),
    (PlayingFault::Hesitation, 3.0),
    (PlayingFault::Rushed, 1.5),
    (PlayingFault::Dragged, 1.5),
    (PlayingFault::OutOfTune, 3.0),
    (PlayingFault::Jumped, 2.0),
    (PlayingFault::Nothing, 1.0),
    (PlayingFault::SomethingElse, 1.0),
];

/// Who plays.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile {
    /// The sound of the instrument.
    pub timbre: Timbre,
    /// Sounding pitches the player can reach.
    pub range: Range,
    /// How well each key is known.
    pub skill: Skill,
    /// General offset from the reference pitch when warmed up.
    pub offset: Cents,
    /// Share of answers of a well-known key in which something goes wrong; at least .12 is used. Unknown keys add to it.
    pub faulty: f64,
}

/// The instants that a player must know to answer, both on the same clock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AnswerClock {
    /// End of the cue.
    pub cue_end: Seconds,
    /// When beat 0 of an answer in tempo is due.
    pub beat_zero: Option<Seconds>,
}

/// One answer as notes, before it is sounded.
#[derive(Debug, Clone, PartialEq)]
pub struct Performance {
    notes: Vec<PlayedNote>,
    /// What was truly played.
    pub truth: Truth,
}

impl Performance {
    /// Every note sounded, in the order of time: its onset counted from the end of the cue, its length, and its pitch with all
    /// that is off about it.
    pub fn notes(&self) -> impl Iterator<Item = (Seconds, Seconds, Midi)> {
        let off = |note: &PlayedNote| (self.truth.centre.0 + note.cents) / 100.0;
        self.notes
            .iter()
            .map(move |note| (Seconds(note.at), Seconds(note.length), Midi(f64::from(note.pitch.0) + off(note))))
    }
}

/// One answer as sound.
#[derive(Debug, Clone, PartialEq)]
pub struct SoundedAnswer {
    /// The sound, without any room; a tenth of a second of silence when nothing is played.
    pub clip: Clip,
    /// Where the clip begins, counted from the end of the cue; below zero where the first note begins before the end of the cue, or so soon
    /// after it that the silence and the rise before it do not fit.
    pub from: Seconds,
    /// What was truly played.
    pub truth: Truth,
}

/// The simulated player.
#[derive(Debug, Clone)]
pub struct SimulatedPlayer {
    profile: Profile,
    /// The stream of chance by which the player chooses what to play.
    chance: PlayerDraws,
    /// The stream of chance by which the answer sounds. It is another stream, so that the same is played whether it is sounded or
    /// not.
    breath: PlayerDraws,
    /// The stream of chance by which taps are counted, right or wrong, and by which the number that is said sounds.
    counting: PlayerDraws,
    /// How far each pitch class of the instrument lies off, in cents.
    tendencies: [f64; 12],
    /// How warm the instrument is, 0 to 1. It is 10 cents flat at 0, when it is cold (sound runs faster in warm air).
    warmth: f64,
    wander: f64,
}

impl SimulatedPlayer {
    /// A player with its own generator; the same generator and cues give the same samples.
    #[must_use]
    pub fn new(generator: ChaCha8Rng, profile: Profile) -> Self {
        let counting = PlayerDraws(stream(generator.clone(), COUNTING));
        let (mut chance, breath) = (PlayerDraws(generator.clone()), PlayerDraws(stream(generator, SOUND)));
        let tendencies = std::array::from_fn(|_| 4.0 * chance.normal().clamp(-2.0, 2.0));
        Self { profile, chance, breath, counting, tendencies, warmth: 0.0, wander: 0.0 }
    }

    /// A developing player of an instrument, strong round the `home` key and weak far from it; another generator makes another
    /// player.
    #[must_use]
    pub fn developing(instrument: &Instrument, home: ConcertKey, generator: ChaCha8Rng) -> Self {
        let profile = Profile {
            timbre: Timbre::of(instrument.sounding),
            range: instrument.advanced,
            skill: Skill::uneven(home, stream(generator.clone(), SKILL)),
            offset: Cents(4.0),
            faulty: 0.15,
        };
        Self::new(generator, profile)
    }

    /// What is known now, key by key.
    #[must_use]
    pub const fn skill(&self) -> &Skill {
        &self.profile.skill
    }

    /// Holds a note, in sound.
    pub fn hold(&mut self, rate: SampleRate, a4: Hertz) -> Clip {
        let notes = [held(self.profile.range)];
        let (timbre, centre) = (self.profile.timbre, self.profile.offset);
        sing(&Performed { notes: &notes, timbre, a4, centre }, rate, &mut self.breath).0
    }

    /// Lets days go by without the instrument: keys sink and the instrument is cold again.
    pub fn rest(&mut self, days: f64) {
        self.profile.skill.rested(days);
        self.warmth = 0.0;
    }

    /// Answers a cue in sound, and learns from it.
    pub fn answer(&mut self, cue: &Cue, clock: AnswerClock, rate: SampleRate, a4: Hertz) -> SoundedAnswer {
        let Performance { notes, truth } = self.perform(cue, clock);
        let part = Performed { notes: &notes, timbre: self.profile.timbre, a4, centre: truth.centre };
        let (clip, from) = sing(&part, rate, &mut self.breath);
        SoundedAnswer { clip, from, truth }
    }

    /// Says how many taps sounded, in so many notes; sometimes one too many or too few.
    pub fn count(&mut self, sounded: u32, rate: SampleRate, a4: Hertz) -> Clip {
        let said = counted(sounded, &mut self.counting);
        let notes = numbered(said, self.profile.range);
        let part = Performed { notes: &notes, timbre: self.profile.timbre, a4, centre: self.profile.offset };
        sing(&part, rate, &mut self.counting).0
    }

    /// Answers a cue as [`SimulatedPlayer::answer`] does, without sounding it, so that months can go by in a second.
    pub fn perform(&mut self, cue: &Cue, clock: AnswerClock) -> Performance {
        let known = self.profile.skill.of(cue.key);
        let due = clock.beat_zero.map(|beat_zero| beat_zero - clock.cue_end);
        let bends = self.profile.timbre.shape().bends;
        self.warmth += 0.03 * (1.0 - self.warmth);
        self.wander = 0.9 * self.wander + 0.8 * self.chance.normal();
        let centre = if bends { self.profile.offset.0 + 10.0 * (self.warmth - 1.0) + self.wander } else { 0.0 };
        let mut intent = Intent::whole(cue, due, known, &mut self.chance);
        for note in &mut intent.notes {
            note.cents = if bends { note.cents + self.tendencies[note.pitch.class().get() as usize] } else { 0.0 };
        }
        // A mind that counts comes in later, and makes more mistakes.
        let counts = cue.second_task.as_ref().is_some_and(|task| task.counted.is_some());
        if counts {
            intent.later(LATER);
        }
        let (seams, free) = (cue.seam_notes(), cue.timing == Timing::Free);
        let mut spoiled = Spoiled { intent, shift: HalfSteps(0), attempts: 1, asked: cue.tempo, seams, free };
        let faults = match Hurried::of(cue, known, &mut self.chance) {
            Hurried::Ready => self.spoil_some(cue, if counts { known - ELSEWHERE } else { known }, &mut spoiled),
            Hurried::Late(by) => {
                spoiled.intent.later(by);
                Vec::new()
            }
            Hurried::Guesses => self.guess(&mut spoiled),
        };
        spoiled.intent.settle();
        let truth = tell(cue, &spoiled, &faults, due, Cents(centre));
        self.profile.skill.tried(cue.key, faults.is_empty());
        Performance { notes: spoiled.intent.notes, truth }
    }

    /// Plays in another key; plays nothing where no other key is in reach.
    fn guess(&mut self, spoiled: &mut Spoiled) -> Vec<PlayingFault> {
        let kinds = [PlayingFault::WrongKey, PlayingFault::Nothing];
        let guessed = kinds.into_iter().find(|kind| spoil(*kind, spoiled, self.profile.range, &mut self.chance));
        guessed.into_iter().collect()
    }

    /// Draws whether something goes wrong and what, applies it, and says what it was.
    fn spoil_some(&mut self, cue: &Cue, known: f64, spoiled: &mut Spoiled) -> Vec<PlayingFault> {
        let share = self.profile.faulty.max(LEAST_FAULTY) + 0.25 * (1.0 - known);
        if !self.chance.happens(share) {
            return Vec::new();
        }
        let allowed = |fault: PlayingFault| match fault {
            PlayingFault::Jumped => cue.timing == Timing::Free,
            PlayingFault::OutOfTune => self.profile.timbre.shape().bends,
            _ => true,
        };
        let weights: Vec<_> = WEIGHTS.into_iter().filter(|(fault, _)| allowed(*fault)).collect();
        let all: f64 = weights.iter().map(|(_, weight)| weight).sum();
        let mut faults = Vec::new();
        // A line may be too short or too high for one fault; another is drawn then.
        for _ in 0..12 {
            let mut left = self.chance.between(0.0, all);
            let drawn = weights.iter().find(|(_, weight)| {
                left -= weight;
                left < 0.0
            });
            let fault = drawn.map_or(PlayingFault::WrongNote, |(fault, _)| *fault);
            if spoil(fault, spoiled, self.profile.range, &mut self.chance) {
                faults.push(fault);
                break;
            }
        }
        let single =
            [PlayingFault::WrongNote, PlayingFault::MissedNote, PlayingFault::ExtraNote, PlayingFault::OutOfTune];
        let again = faults.iter().any(|fault| single.contains(fault)) && self.chance.happens(0.2);
        if again && spoil(PlayingFault::Hesitation, spoiled, self.profile.range, &mut self.chance) {
            faults.push(PlayingFault::Hesitation);
        }
        faults
    }
}

/// A copy of a generator that draws from another of its streams.
fn stream(mut generator: ChaCha8Rng, number: u64) -> ChaCha8Rng {
    generator.set_stream(number);
    generator
}

/// The truth of a performance, read off its notes.
fn tell(cue: &Cue, spoiled: &Spoiled, faults: &[PlayingFault], due: Option<Seconds>, centre: Cents) -> Truth {
    let intent = &spoiled.intent;
    let played = |index: usize| intent.notes.iter().find(|note| note.meant == Some(index));
    let notes: Vec<NoteTruth> = cue
        .line
        .notes
        .iter()
        .enumerate()
        .map(|(index, expected)| {
            let Some(note) = played(index) else {
                return NoteTruth { played_as: PlayedAs::Missed, onset: None, cents: None };
            };
            let off = note.pitch - (expected.pitch + spoiled.shift);
            let played_as = match off.0 {
                0 => PlayedAs::Right,
                octaves if octaves % 12 == 0 => PlayedAs::Octave(off),
                _ => PlayedAs::Wrong(off),
            };
            let cents = Some(Cents(note.cents + centre.0));
            NoteTruth { played_as, onset: Some(Seconds(note.at)), cents }
        })
        .collect();
    let related = !faults.iter().any(|fault| matches!(fault, PlayingFault::Nothing | PlayingFault::SomethingElse));
    let graded = intent.notes.iter().position(|note| note.meant.is_some()).unwrap_or(intent.notes.len());
    let in_tempo = due.filter(|_| cue.timing == Timing::InTempo);
    Truth {
        related,
        shift: spoiled.shift,
        attempts: if related { spoiled.attempts } else { 0 },
        extra: intent.notes[graded..].iter().filter(|note| note.meant.is_none()).count() as u32,
        sounded: intent.notes.len(),
        began: intent.notes.first().map(|note| Seconds(note.at)),
        reflex: notes.iter().find(|note| note.played_as == PlayedAs::Right).and_then(|note| note.onset),
        late: in_tempo.filter(|_| related).map(|due| Seconds(intent.beat_zero) - due),
        pace: intent.pace,
        centre,
        faults: faults.to_vec(),
        notes,
    }
}
