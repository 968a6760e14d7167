//! A drill in simulated time: a stand-in for the ear gives it notes, and one for the loudspeaker says when cues sound.

use earfirst::outside::coach::{Goals, LearnerModel, OutOfRange, Plan, Rng};
use earfirst::outside::cue::{Cue, Form, Rendering, SoundSign, Timing, round, sound};
use earfirst::outside::drill::{Command, CueSpan, Drill, Effect, Face, Input, RestRules, Settings, Snapshot};
use earfirst::outside::music::{ConcertKey, instrument};
use earfirst::outside::notes::{HeardNote, NoteEvent};
use earfirst::outside::pattern::{Library, PatternId, Register};
use earfirst::outside::room::SoundFault;
use earfirst::outside::session::{Began, Event};
use earfirst::outside::units::{A440, Cents, Decibels, Midi, SampleRate, Seconds, Tempo};

/// The length of a step of simulated time, in seconds.
const STEP: f64 = 0.01;

/// How a player answers. The function is given a cue, the instant at which the cue ends and, for an answer in tempo, that of beat 0; it
/// returns the onset, length and pitch of each note.
pub type Player = Box<dyn FnMut(&Cue, Seconds, Option<Seconds>) -> Vec<(f64, f64, f64)>>;

/// The drill, its clock, and all that it has done so far.
pub struct Rehearsal {
    pub drill: Drill,
    pub now: f64,
    pub cues: Vec<(f64, Cue, Decibels)>,
    pub events: Vec<Event>,
    /// Answers and verdicts that were in the record before the final ones.
    pub drafts: Vec<[Event; 2]>,
    pub shown: Vec<(f64, Snapshot)>,
    pub hushed: u32,
    /// The signs that were sounded, with their instants.
    pub signs: Vec<(f64, Vec<SoundSign>)>,
    /// The cues that were sounded to be sung or fingered, with their instants.
    pub spared: Vec<(f64, Cue)>,
    /// How many taps sounded, each time their number was asked.
    pub asked_count: Vec<u32>,
    /// How often the drill asked for the devices to be opened anew.
    pub renewed: u32,
    /// Numbers of the cues that were played back with their answers.
    pub played_back: Vec<u32>,
    pub done: bool,
    player: Player,
    to_tell: Vec<(f64, NoteEvent)>,
    numbers: u32,
}

/// Settings of an ordinary sitting on the trumpet.
pub fn settings(pattern: &str, form: Form, keys: &[ConcertKey]) -> Settings {
    let instrument = instrument("trumpet").unwrap().clone();
    let pattern = Library::builtin().get(&PatternId(pattern.to_owned())).expect("in the library").clone();
    let goals = Goals { tempo: Tempo(144.0), reflex: Seconds(0.8) };
    let mut plan = Plan::new(vec![pattern.id.clone()], keys.to_vec(), goals, 20_000);
    plan.registers = vec![Register::Low, Register::Middle, Register::High];
    let began = Began {
        started: "2026-03-01T10:00:00+01:00".to_owned(),
        day: 20_000,
        player: None,
        instrument: instrument.id.clone(),
        a4: A440,
        seed: 1,
        patterns: plan.patterns.clone(),
        keys: keys.to_vec(),
        out_of_range: OutOfRange::default(),
        goals,
        rate: SampleRate::DEVICE,
        delay: Some(Seconds(0.0)),
        simulated: false,
        by_midi: false,
        keeps_sound: false,
        one_by_one: false,
        reading: earfirst::outside::music::Reading::default(),
        level: earfirst::outside::music::Level::Student,
        ear: 2,
        lesson: None,
        trade: None,
        second_task: false,
    };
    Settings {
        range: instrument.advanced,
        rests: RestRules { turns: false, ..RestRules::usual(true) },
        instrument,
        patterns: vec![pattern],
        plan,
        form,
        timing: if form == Form::Pattern { Timing::InTempo } else { Timing::Free },
        click: false,
        warnings: Vec::new(),
        round: None,
        closing_round: false,
        vamp: false,
        by_ear: false,
        second_task: false,
        planned: None,
        level: Some(Decibels(-12.0)),
        began,
    }
}

impl Rehearsal {
    /// A sitting with a player who answers as `player` says.
    pub fn new(settings: Settings, player: Player) -> Self {
        Self::of_a_known_player(settings, LearnerModel::new(), player)
    }

    /// A sitting with a player of whom the coach knows something from earlier days.
    pub fn of_a_known_player(settings: Settings, beliefs: LearnerModel, player: Player) -> Self {
        let drill = Drill::new(settings, beliefs, Rng::new(7));
        let (cues, events, drafts, shown, to_tell) = (Vec::new(), Vec::new(), Vec::new(), Vec::new(), Vec::new());
        let (now, hushed, renewed, played_back, done, numbers) = (0.0, 0, 0, Vec::new(), false, 0);
        let (signs, spared) = (Vec::new(), Vec::new());
        Self {
            drill,
            now,
            cues,
            events,
            drafts,
            shown,
            hushed,
            signs,
            spared,
            asked_count: Vec::new(),
            renewed,
            played_back,
            done,
            player,
            to_tell,
            numbers,
        }
    }

    /// Lets `seconds` go by.
    pub fn run(&mut self, seconds: f64) {
        let until = self.now + seconds;
        while self.now < until && !self.done {
            self.now += STEP;
            self.to_tell.sort_by(|a, b| a.0.total_cmp(&b.0));
            while self.to_tell.first().is_some_and(|(at, _)| *at <= self.now) {
                let (_, told) = self.to_tell.remove(0);
                self.tell(Input::Heard(told));
            }
            self.tell(Input::Now(Seconds(self.now)));
        }
    }

    /// Runs until `wanted` is true, for an hour of simulated time at most.
    pub fn run_until(&mut self, wanted: impl Fn(&Self) -> bool) {
        let limit = self.now + 3600.0;
        while !wanted(self) && !self.done {
            assert!(self.now < limit, "it never came to that");
            self.run(STEP);
        }
    }

    pub fn command(&mut self, command: Command) {
        self.tell(Input::Command(command));
    }

    pub fn note_xrun(&mut self) {
        self.tell(Input::Xrun);
    }

    pub fn trouble(&mut self, trouble: Option<SoundFault>) {
        self.tell(Input::SoundFault(trouble));
    }

    /// Plays a note outside any answer.
    pub fn play(&mut self, onset: f64, length: f64, pitch: f64) {
        self.schedule(&[(onset, length, pitch)]);
    }

    pub fn face(&self) -> Face {
        self.shown.last().map_or(Face::Waiting, |(_, snapshot)| snapshot.face)
    }

    pub fn snapshot(&self) -> &Snapshot {
        &self.shown.last().expect("something is always shown").1
    }

    fn schedule(&mut self, notes: &[(f64, f64, f64)]) {
        for &(onset, length, pitch) in notes {
            let note = HeardNote {
                number: self.numbers,
                onset: Seconds(onset),
                release: Seconds(onset + 0.03),
                pitch: Midi(pitch),
                spread: Some(Cents(2.0)),
                loudness: Decibels(-20.0),
                confidence: 0.95,
                announced: Seconds(onset + 0.03),
                announced_pitch: Midi(pitch),
            };
            self.numbers += 1;
            self.to_tell.push((onset + 0.03, NoteEvent::On(note)));
            let ended = HeardNote { release: Seconds(onset + length), ..note };
            self.to_tell.push((onset + length + 0.05, NoteEvent::Off(ended)));
        }
    }

    pub fn tell(&mut self, input: Input) {
        // As in the program, what is shown is shown before a cue sounds.
        let (cues, others): (Vec<_>, Vec<_>) = self
            .drill
            .step(input)
            .into_iter()
            .partition(|effect| matches!(effect, Effect::Sound { .. } | Effect::SoundRound { .. }));
        for effect in others.into_iter().chain(cues) {
            match effect {
                Effect::Sound { cue, level } => self.sounded(cue, level),
                Effect::SoundRound { cues, level, .. } => self.sounded_in_round(&cues, level),
                Effect::Hush => {
                    self.hushed += 1;
                    // What would have been played to the rest of a round is not.
                    if self.cues.last().is_some_and(|(_, cue, _)| cue.round.is_some()) {
                        self.to_tell.clear();
                    }
                }
                Effect::Signs { signs, .. } => self.signs.push((self.now, signs)),
                Effect::Spared { cue, .. } => self.spared.push((self.now, cue)),
                Effect::AskCount { sounded } => self.asked_count.push(sounded),
                Effect::Renew => self.renewed += 1,
                Effect::PlayBack { cue } => self.played_back.push(cue),
                Effect::Record(event) => self.events.push(*event),
                Effect::Draft(events) => self.drafts.push(*events),
                Effect::Show(snapshot) => self.shown.push((self.now, *snapshot)),
                Effect::Done => self.done = true,
            }
        }
    }

    fn sounded_in_round(&mut self, cues: &[Cue], level: Decibels) {
        let made = round(cues, &Rendering::new(SampleRate::new(8000).unwrap()));
        let start = Seconds(self.now + 0.05);
        for (cue, place) in cues.iter().zip(made.places) {
            let (from, end, beat_zero) = (start + place.from, start + place.end, Some(start + place.beat_zero));
            let answer = (self.player)(cue, end, beat_zero);
            self.schedule(&answer);
            self.cues.push((from.0, cue.clone(), level));
            self.tell(Input::Sounding { cue: cue.number, span: CueSpan { from, end, beat_zero } });
        }
    }

    fn sounded(&mut self, cue: Cue, level: Decibels) {
        let rendering = Rendering { count_in: cue.counts_in(), ..Rendering::new(SampleRate::new(8000).unwrap()) };
        let made = sound(&cue, &rendering);
        let from = Seconds(self.now + 0.05);
        let (end, beat_zero) = (from + made.end, made.beat_zero.map(|beat| from + beat));
        let answer = (self.player)(&cue, end, beat_zero);
        self.schedule(&answer);
        self.cues.push((self.now, cue.clone(), level));
        self.tell(Input::Sounding { cue: cue.number, span: CueSpan { from, end, beat_zero } });
    }
}

/// A player who plays what was asked, detached, `late` seconds after the end of the cue, or, in tempo, after the beat.
pub fn faithful(late: f64) -> Player {
    Box::new(move |cue, end, beat_zero| {
        let start = beat_zero.unwrap_or(end).0 + late;
        let beat = cue.tempo.beat().0;
        cue.line
            .notes
            .iter()
            .map(|note| (start + note.at.0 * beat, note.length.0 * beat * 0.9, f64::from(note.pitch.0)))
            .collect()
    })
}

/// A player who plays nothing.
pub fn silent() -> Player {
    Box::new(|_, _, _| Vec::new())
}
