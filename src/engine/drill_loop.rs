use std::sync::Arc;

use crossbeam_channel::{Receiver, TryRecvError, bounded};

use crate::cue::{Cue, CueSound, Rendering, RoundPlace, RoundSound, round, sound_in};
use crate::drill::{Command, CueSpan, Drill, Effect, Face, Input, KEPT_BEFORE, Snapshot};
use crate::engine::clip_rooms::ClipRooms;
use crate::engine::note_source::Rig;
use crate::engine::sounded_cue::SoundedCue;
use crate::engine::sounded_notes::sounded_notes;
use crate::engine::unasked::Unasked;
use crate::notes::{HeardNote, NoteEvent};
use crate::session::Event;
use crate::simulated::AnswerClock;
use crate::sound::{Clip, Placement, SharedSound};
use crate::trade::vamp;
use crate::units::{Decibels, Hertz, SampleRate, Seconds};
use crate::words::SoundFault;

/// Rate of cues while no loudspeaker has given its own.
const FALLBACK: SampleRate = SampleRate::DEVICE;
/// Time more than its length for which the sign of the end is waited for, since a device may still hold some of it; and the most waits
/// in which nothing came in.
const STILL_HELD: Seconds = Seconds(0.2);
const WAITS: u32 = 2000;
/// Room for a cue with its count-in; nearly all are shorter.
const CUE_ROOM: Seconds = Seconds(8.0);

/// What leaves a running drill.
#[derive(Debug)]
pub enum Out {
    /// A new state for the screen.
    Show(Box<Snapshot>),
    /// An answer and its verdict, which stand in the record until the next draft or the final lines replace them.
    Draft(Box<[Event; 2]>),
    /// Something for the record, with the sound of the answer where there is any.
    Keep(Box<Event>, Option<SharedSound>),
}

/// An answer that can be heard again, after its cue.
#[derive(Debug)]
struct Answered {
    cue: Option<SoundedCue>,
    heard: Vec<HeardNote>,
    /// The sound of the answer; `None` where the notes came without sound.
    sound: Option<SharedSound>,
}

/// One cue, or the cues of a round, and their sound.
struct Ordered {
    cues: Vec<Cue>,
    sound: CueSound,
    /// Where the cues of a round lie inside the sound.
    places: Vec<RoundPlace>,
    level: Decibels,
}

impl Ordered {
    /// Number of each cue, and where the cue lies.
    fn spans(&self, place: Placement) -> Vec<(u32, CueSpan)> {
        if let ([cue], []) = (self.cues.as_slice(), self.places.as_slice()) {
            let from = place.from;
            let beat_zero = self.sound.beat_zero.map(|beat| from + beat);
            return vec![(cue.number, CueSpan { from, end: from + self.sound.end, beat_zero })];
        }
        // A round lasts minutes, in which the clocks of input and output come apart.
        let at = |instant: Seconds| place.instant(instant);
        let span = |it: &RoundPlace| CueSpan { from: at(it.from), end: at(it.end), beat_zero: Some(at(it.beat_zero)) };
        self.cues.iter().zip(&self.places).map(|(cue, place)| (cue.number, span(place))).collect()
    }

    /// Each cue in the sound.
    fn sounded(&self) -> Vec<SoundedCue> {
        let one = |number, from, end| SoundedCue { number, sound: Arc::clone(&self.sound.clip), from, end };
        if let ([cue], []) = (self.cues.as_slice(), self.places.as_slice()) {
            return vec![one(cue.number, Seconds(0.0), self.sound.end)];
        }
        self.cues.iter().zip(&self.places).map(|(cue, place)| one(cue.number, place.from, place.end)).collect()
    }

    /// What a simulated player gets to know of a round.
    fn asked(&self) -> Vec<(Cue, AnswerClock)> {
        let clock = |it: &RoundPlace| AnswerClock { cue_end: it.end, beat_zero: Some(it.beat_zero) };
        self.cues.iter().zip(&self.places).map(|(cue, place)| (cue.clone(), clock(place))).collect()
    }
}

/// A drill joined to the world outside: notes in, cues out. The same loop for devices, for the simulated player and for an
/// instrument that says itself which notes it plays.
pub struct DrillLoop<'a> {
    drill: Drill,
    rig: &'a mut dyn Rig,
    commands: &'a Receiver<Command>,
    out: &'a mut dyn FnMut(Out),
    a4: Hertz,
    octave_up: bool,
    /// The cue that was played last, until it is known where it lies.
    playing: Option<Ordered>,
    /// What was sounded last without an answer, until it is known where it lies.
    unasked: Option<(Unasked, Decibels)>,
    /// Length of the signs that say that the sitting is over; 0 where none were played.
    signs_last: Seconds,
    /// Whether a soft band plays under the rounds.
    vamp: bool,
    /// Cues that no loudspeaker took yet.
    unplayed: Option<(Vec<Cue>, Decibels)>,
    /// Number of each cue of the last sound, and the instant at which the cue ends.
    cue_ends: Vec<(u32, Seconds)>,
    /// The cues of the last sound.
    last_cues: Vec<SoundedCue>,
    /// Room for the sound of cues.
    cue_rooms: ClipRooms,
    /// The newest answer, to be heard again.
    answered: Option<Answered>,
    done: bool,
}

impl<'a> DrillLoop<'a> {
    /// A drill that has not begun.
    pub fn new(
        drill: Drill,
        rig: &'a mut dyn Rig,
        commands: &'a Receiver<Command>,
        a4: Hertz,
        out: &'a mut dyn FnMut(Out),
    ) -> Self {
        Self {
            drill,
            rig,
            commands,
            out,
            a4,
            octave_up: false,
            playing: None,
            unasked: None,
            signs_last: Seconds(0.0),
            vamp: false,
            unplayed: None,
            cue_ends: Vec::new(),
            last_cues: Vec::new(),
            cue_rooms: ClipRooms::of(3, CUE_ROOM),
            answered: None,
            done: false,
        }
    }

    /// This drill, whose cues sound an octave up where `octave_up` says so.
    #[must_use]
    pub fn octave_up(self, octave_up: bool) -> Self {
        Self { octave_up, ..self }
    }

    /// Runs until the sitting is over; hands the drill back, with what was learnt.
    pub fn run(mut self) -> Drill {
        let (mut heard, mut trouble): (Vec<NoteEvent>, _) = (Vec::new(), None);
        while !self.done {
            self.listen_to_commands();
            let seen = self.rig.trouble();
            if seen != trouble {
                trouble = seen;
                let effects = self.drill.step(Input::SoundFault(seen));
                self.act(effects);
            }
            self.place();
            heard.clear();
            match self.rig.listen(&mut |note| heard.push(*note)) {
                Some(now) => self.hear(&heard, now),
                None => self.rig.wait(),
            }
            if let Some(command) = self.rig.asked() {
                let effects = self.drill.step(Input::Command(command));
                self.act(effects);
            }
        }
        self.ring_out();
        self.drill
    }

    /// Waits until the sign that the sitting is over has sounded to its end, or the sound fails, or nothing comes in for long.
    fn ring_out(&mut self) {
        let (mut until, mut waits) = (None, 0);
        while self.signs_last.0 > 0.0 && waits < WAITS && !self.rig.trouble().is_some_and(SoundFault::stops) {
            match self.rig.listen(&mut |_| {}) {
                Some(now) if now.0 >= until.get_or_insert(now + self.signs_last + STILL_HELD).0 => return,
                Some(_) => {}
                None => {
                    waits += 1;
                    self.rig.wait();
                }
            }
        }
    }

    /// Sounds what is not answered, where the output does.
    fn sound_unasked(&mut self, wanted: Unasked, level: Decibels) {
        let sound = wanted.sound(&self.how(level));
        self.signs_last = Seconds(0.0);
        if self.rig.play_signs(&sound) {
            self.rig.cue_ordered();
            self.signs_last = if wanted.is_end() { sound.end } else { Seconds(0.0) };
            self.unasked = Some((wanted, level));
        }
    }

    /// Tells the source where our own sound lies, so that it does not take it for notes of the player's.
    fn place_unasked(&mut self, place: Placement) {
        let (Some((wanted, level)), Some(rate)) = (self.unasked.take(), self.rig.cue_rate()) else { return };
        let sound = wanted.sound(&Rendering { rate, ..self.how(level) });
        self.rig.signs_placed(&sound, place.later(self.drill.delay()));
    }

    /// How cues are rendered at the rate of the output, at this level.
    fn how(&mut self, level: Decibels) -> Rendering {
        let rate = self.rig.output_rate().unwrap_or(FALLBACK);
        Rendering { a4: self.a4, level, octave_up: self.octave_up, ..Rendering::new(rate) }
    }

    /// Tells the drill what was heard up to `now`.
    fn hear(&mut self, heard: &[NoteEvent], now: Seconds) {
        self.drill.set_dropped(self.rig.dropped());
        if self.rig.had_xrun() {
            let effects = self.drill.step(Input::Xrun);
            self.act(effects);
        }
        let mut effects = Vec::new();
        for note in heard {
            effects.extend(self.drill.step(Input::Heard(*note)));
        }
        effects.extend(self.drill.step(Input::Now(now)));
        self.act(effects);
    }

    fn listen_to_commands(&mut self) {
        loop {
            match self.commands.try_recv() {
                Ok(command) => {
                    let effects = self.drill.step(Input::Command(command));
                    self.act(effects);
                }
                Err(TryRecvError::Empty) => return,
                // Whoever could say "end" is gone: end, so that the record is finished.
                Err(TryRecvError::Disconnected) => {
                    let effects = self.drill.step(Input::Command(Command::End));
                    self.act(effects);
                    return;
                }
            }
        }
    }

    /// Tells the drill where its cue lies as soon as the output knows. The source, which listens for the echo of the cue, gets a
    /// place that is later by the delay that `calibrate` measured.
    fn place(&mut self) {
        if let Some((cues, level)) = self.unplayed.take() {
            self.play(cues, level);
        }
        let Some(placed) = self.rig.placed() else { return };
        if placed.cue == 0 {
            return self.place_unasked(placed.place);
        }
        let Some(ordered) = self.playing.take() else { return };
        if ordered.cues.first().is_none_or(|first| first.number != placed.cue) {
            return;
        }
        let heard = match self.rig.cue_rate() {
            Some(rate) if rate != ordered.sound.clip.rate => self.rendered(ordered.cues, rate, ordered.level),
            _ => ordered,
        };
        let spans = heard.spans(placed.place);
        self.cue_ends = spans.iter().map(|(number, span)| (*number, span.end)).collect();
        self.rig.cue_placed(&heard.sound, placed.place.later(self.drill.delay()));
        for (cue, span) in spans {
            let effects = self.drill.step(Input::Sounding { cue, span });
            self.act(effects);
        }
    }

    fn act(&mut self, effects: Vec<Effect>) {
        // A cue takes a while to make, so it is made last: its key stands on the screen meanwhile.
        let sounds =
            |it: &Effect| matches!(it, Effect::Sound { .. } | Effect::SoundRound { .. } | Effect::Spared { .. });
        let (cues, others): (Vec<_>, Vec<_>) = effects.into_iter().partition(sounds);
        for effect in others.into_iter().chain(cues) {
            match effect {
                Effect::Sound { cue, level } => self.play(vec![cue], level),
                Effect::SoundRound { cues, level, vamp } => {
                    self.vamp = vamp;
                    self.play(cues, level);
                }
                Effect::Signs { signs, level } => self.sound_unasked(Unasked::Signs(signs), level),
                Effect::Spared { cue, level } => self.sound_unasked(Unasked::Spared(Box::new(cue)), level),
                Effect::AskCount { sounded } => self.rig.ask_count(sounded),
                Effect::Hush => {
                    self.unplayed = None;
                    self.playing = None;
                    self.rig.hush();
                }
                Effect::PlayBack { .. } => self.play_back(),
                Effect::Renew => self.rig.renew(),
                Effect::Record(event) => self.record(*event),
                Effect::Draft(events) => (self.out)(Out::Draft(events)),
                Effect::Show(snapshot) => (self.out)(Out::Show(snapshot)),
                Effect::Done => self.done = true,
            }
        }
    }

    fn play(&mut self, cues: Vec<Cue>, level: Decibels) {
        let rate = self.rig.output_rate().unwrap_or(FALLBACK);
        let ordered = self.rendered(cues, rate, level);
        let Some(first) = ordered.cues.first() else { return };
        let taken = match ordered.places.as_slice() {
            [] => self.rig.play(first, &ordered.sound),
            _ => self.rig.play_long(first, &ordered.sound, &ordered.asked()),
        };
        if taken {
            self.rig.cue_ordered();
            self.last_cues = ordered.sounded();
            self.playing = Some(ordered);
        } else {
            self.unplayed = Some((ordered.cues, level));
        }
    }

    /// The sound of one cue, or of a round.
    fn rendered(&mut self, cues: Vec<Cue>, rate: SampleRate, level: Decibels) -> Ordered {
        let octave_up = self.octave_up;
        let how = |cue: &Cue| Rendering { octave_up, ..rendering(cue, rate, self.a4, level) };
        match cues.as_slice() {
            [cue] if cue.round.is_none() => {
                let how = how(cue);
                let sound = sound_in(self.cue_rooms.take(), cue, &how);
                self.cue_rooms.remember(&sound.clip);
                Ordered { cues, sound, places: Vec::new(), level }
            }
            _ => {
                let how = Rendering { octave_up, a4: self.a4, level, ..Rendering::new(rate) };
                let made = round(&cues, &how);
                let RoundSound { sound, places } = if self.vamp { vamp(&cues, made, &how) } else { made };
                Ordered { cues, sound, places, level }
            }
        }
    }

    /// Plays the cue and the answer. An answer that came as notes is made into sound only here.
    fn play_back(&mut self) {
        let Some(Answered { cue, heard, sound }) = &self.answered else { return };
        let answer = sound.as_ref().map(SharedSound::to_clip).or_else(|| sounded_notes(heard, self.a4));
        let clips: Vec<Arc<Clip>> = cue.iter().map(SoundedCue::alone).chain(answer.map(Arc::new)).collect();
        self.rig.play_back(&clips);
    }

    fn record(&mut self, event: Event) {
        let sound = match &event {
            Event::Answered(notes) if !notes.heard.is_empty() => {
                let cue_end = self.cue_ends.iter().find(|(cue, _)| *cue == notes.cue).map(|(_, end)| *end);
                let sound = cue_end.and_then(|end| self.rig.sound_between(end - KEPT_BEFORE, notes.at));
                // Another cue may sound before the player asks to hear this one again.
                let cue = self.last_cues.iter().find(|cue| cue.number == notes.cue).cloned();
                let heard = notes.heard.clone();
                self.answered = Some(Answered { cue, heard, sound: sound.clone() });
                sound
            }
            _ => None,
        };
        (self.out)(Out::Keep(Box::new(event), sound));
    }
}

/// Runs a sitting with nobody at the keyboard until this many answers were attempts at their line: goes on from every pause at once,
/// hands on what is for the record, and hands the drill back.
pub fn unattended(drill: Drill, rig: &mut dyn Rig, a4: Hertz, answers: u32, keep: &mut dyn FnMut(Event)) -> Drill {
    let (tell, commands) = bounded(4);
    let mut out = |out: Out| match out {
        Out::Keep(event, _) => keep(*event),
        Out::Show(snapshot) if snapshot.answers >= answers => {
            let _ = tell.try_send(Command::End);
        }
        Out::Show(snapshot) if matches!(snapshot.face, Face::Paused { .. }) => {
            let _ = tell.try_send(Command::Pause);
        }
        Out::Show(_) | Out::Draft(_) => {}
    };
    DrillLoop::new(drill, rig, &commands, a4, &mut out).run()
}

/// How a cue is rendered in a drill: counted in where the answer is in tempo.
#[must_use]
pub fn rendering(cue: &Cue, rate: SampleRate, a4: Hertz, level: Decibels) -> Rendering {
    Rendering { a4, level, count_in: cue.counts_in(), ..Rendering::new(rate) }
}
