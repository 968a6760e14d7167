//! A pianist at a MIDI keyboard, with the troubles that come there, in sittings through the program's own reader of MIDI. A stand-in
//! takes the place of the MIDI port, behind the same trait, so these tests do not show what a system does to a real port.
//!
//! The messages are those of the MIDI 1.0 Detailed Specification, from memory. That hands play legato with overlapping keys, strike the
//! keys of a chord within 30 ms, and have the melody on top is common practice.

use std::cell::RefCell;
use std::collections::VecDeque;
use std::rc::Rc;
use std::sync::Arc;

use crossbeam_channel::bounded;
use earfirst::outside::coach::{LearnerModel, Rng};
use earfirst::outside::cue::{Cue, CueSound, Form};
use earfirst::outside::devices::PortEvent;
use earfirst::outside::drill::{Command, Drill, Face};
use earfirst::outside::engine::{
    AudioSource, CueOutput, DrillLoop, KeySource, MidiEar, MidiPlayer, Out, PlacedCue, trade,
};
use earfirst::outside::midi::{LineChoice, MessageReader};
use earfirst::outside::music::{ConcertKey, Intonation};
use earfirst::outside::room::MidiError;
use earfirst::outside::room::SoundFault;
use earfirst::outside::session::{Session, write_line};
use earfirst::outside::sound::{Clip, Placement, SoundBlock};
use earfirst::outside::trade::{Trade, TradeMoment};
use earfirst::outside::units::{A440, Decibels, Hertz, SampleRate, Seconds};

use crate::rehearsal::settings;

/// How far the clock goes on while no message comes.
const STEP: Seconds = Seconds(0.002);
/// How long after its cue a free answer begins.
pub const REFLEX: Seconds = Seconds(0.5);

/// What goes wrong or is added while the pianist plays the right notes.
#[derive(Default, Clone, Copy)]
pub struct Troubles {
    /// How long the cable is out within every third answer, between two notes; `None` where it stays in.
    pub unplugged: Option<Seconds>,
    /// Every message is sent twice, 4 ms apart.
    pub local_echo: bool,
    /// A chord lies under the first note of each answer, and the pedal is pressed.
    pub chords: bool,
    /// The left hand plays a note under every second note of the melody, and it sometimes sounds into the next.
    pub two_hands: bool,
    /// The system's MIDI breaks down within every third answer, and the player stops playing then.
    pub breaks: bool,
    /// Every note is bent: ten cents down, but the third note of each answer fifteen cents up.
    pub bent: bool,
    /// The cues have holes for a while.
    pub holes: bool,
    /// The instrument makes no sound, so the program sounds its keys.
    pub silent: bool,
    /// How much later one message in five arrives; a hash of its stamp chooses which.
    pub late: Seconds,
    /// How long before the port is opened the driver's clock begins at 0.
    pub counts_from: Seconds,
    /// Whether the pianist steers the drill from the instrument: at the second cue with the lowest key, twice, a second apart; at the
    /// fourth cue with the soft pedal instead of an answer; after the sixth answer with the middle pedal.
    pub steers: bool,
}

/// The keyboard: its messages, and when they arrive.
struct Piano {
    now: Seconds,
    troubles: Troubles,
    coming: VecDeque<(Seconds, PortEvent)>,
    placed: Option<PlacedCue>,
    /// What the program sounded for the keys, in order: the instant, the key (`None` where all were let go), and the peak where a key went
    /// down.
    sounded: Vec<(Seconds, Option<u8>, Option<Decibels>)>,
    /// The peak of the newest cue.
    cue_peak: Decibels,
    cues: u32,
    unplugged: u32,
    /// When the port was opened last.
    opened_at: Seconds,
    /// The cues of a trade, and when in its sound each answer is due.
    traded: Vec<(Cue, Seconds)>,
}

/// The event that the port is open.
fn opened(at: Seconds) -> PortEvent {
    PortEvent::Opened { name: "Piano".to_owned(), at }
}

#[derive(Clone)]
struct Stand(Rc<RefCell<Piano>>);

impl Piano {
    /// Sends a message at an instant. The driver stamps the message with the driver's own clock. The message arrives up to eight
    /// milliseconds later, one in five later still by `late` of the troubles.
    fn say(&mut self, at: Seconds, bytes: [u8; 3]) {
        // The driver counts from the opening of the port, as ALSA and WinMM do, or from elsewhere.
        let stamp_us = ((at - self.opened_at + self.troubles.counts_from).0 * 1e6) as u64;
        let drawn = stamp_us.wrapping_mul(6_364_136_223_846_793_005) >> 40;
        let late = Seconds(0.0005 + 0.0075 * (drawn % 100) as f64 / 100.0);
        let late = if drawn.is_multiple_of(5) { late + self.troubles.late } else { late };
        let copies: u32 = if self.troubles.local_echo { 2 } else { 1 };
        for copy in 0..copies {
            let behind = Seconds(0.004 * f64::from(copy));
            let (stamp_us, arrived) = (stamp_us + u64::from(copy) * 4000, at + late + behind);
            let mut tell = |message| self.coming.push_back((arrived, PortEvent::Said { message, stamp_us, arrived }));
            MessageReader::default().read(&bytes, &mut tell);
        }
    }

    fn press(&mut self, key: u8, from: Seconds, until: Seconds) {
        self.say(from, [0x90, key, 80]);
        self.say(until, [0x90, key, 0]);
    }

    fn answer(&mut self, cue: &Cue, begins: Seconds) {
        self.cues += 1;
        let at = |place| begins + cue.tempo.lasting(place);
        if self.troubles.steers {
            match self.cues {
                2 => {
                    self.press(21, begins, begins + Seconds(0.1));
                    return self.press(21, begins + Seconds(1.0), begins + Seconds(1.1));
                }
                4 => {
                    self.say(begins, [0xB0, 67, 127]);
                    return self.say(begins + Seconds(0.2), [0xB0, 67, 0]);
                }
                6 => self.say(at(cue.line.length) + Seconds(1.4), [0xB0, 66, 127]),
                _ => {}
            }
        }
        if self.troubles.chords {
            let first = cue.line.notes[0].pitch.0 as u8;
            self.say(begins - Seconds(0.1), [0xB0, 64, 127]);
            for (key, ms) in [(first - 4, 8.0), (first - 9, 25.0)] {
                self.press(key, begins + Seconds(ms / 1000.0), begins + Seconds(0.9));
            }
        }
        for (n, note) in cue.line.notes.iter().enumerate() {
            let from = at(note.at);
            if n == 3
                && self.cues.is_multiple_of(3)
                && let Some(length) = self.troubles.unplugged
            {
                // The key before is held, and is never told to have come up.
                let out = from - Seconds(0.03) - length;
                self.coming.retain(|(arrives, _)| *arrives < out);
                self.coming.push_back((out, PortEvent::Closed));
                self.opened_at = out + length;
                self.coming.push_back((out + length, opened(out + length)));
                self.unplugged += 1;
            }
            if n == 2 && self.troubles.breaks && self.cues.is_multiple_of(3) {
                let broke = MidiError::Broke("no queue is left".to_owned());
                let what = [PortEvent::Closed, PortEvent::Failed(broke), opened(from)];
                self.coming.retain(|(arrives, _)| *arrives < from);
                self.coming.extend(what.map(|event| (from, event)));
                self.opened_at = from;
                self.unplugged += 1;
                break;
            }
            if self.troubles.bent {
                let cents = if n == 2 { 15.0 } else { -10.0 };
                let bend = (8192.0 + cents / 200.0 * 8192.0) as u16;
                self.say(from - Seconds(0.001), [0xE0, (bend & 127) as u8, (bend >> 7) as u8]);
            }
            if self.troubles.two_hands && n % 2 == 0 && n + 1 < cue.line.notes.len() {
                let (length, low) = (cue.tempo.lasting(note.length), cue.line.notes[0].pitch.0 as u8 - 17);
                let until = if n % 4 == 0 { 0.9 } else { 1.4 };
                self.press(low, from + length * 0.3, from + length * until);
            }
            // Fingers hold over into the next note.
            self.press(note.pitch.0 as u8, from, from + cue.tempo.lasting(note.length) * 1.08);
        }
        self.coming.make_contiguous().sort_by(|a, b| a.0.0.total_cmp(&b.0.0));
    }
}

impl KeySource for Stand {
    fn next_event(&mut self) -> Option<PortEvent> {
        let mut piano = self.0.borrow_mut();
        let now = piano.now;
        piano.coming.pop_front_if(|(arrives, _)| *arrives <= now).map(|(_, event)| event)
    }

    fn now(&self) -> Seconds {
        self.0.borrow().now
    }

    fn wait(&mut self) {
        let mut piano = self.0.borrow_mut();
        piano.now = piano.now + STEP;
    }
}

impl AudioSource for Stand {
    fn read(&mut self, _into: &mut Vec<f32>) -> Option<SoundBlock> {
        None
    }
    fn trouble(&mut self) -> Option<SoundFault> {
        let piano = self.0.borrow();
        (piano.troubles.holes && (6.0..6.5).contains(&piano.now.0)).then_some(SoundFault::Xruns)
    }
}

impl CueOutput for Stand {
    fn output_rate(&mut self) -> Option<SampleRate> {
        Some(SampleRate::CD)
    }
    fn play(&mut self, cue: &Cue, sound: &CueSound) -> bool {
        let mut piano = self.0.borrow_mut();
        let from = piano.now + Seconds(0.05);
        piano.placed = Some(PlacedCue { cue: cue.number, place: Placement::at(from) });
        piano.cue_peak = sound.clip.peak();
        if piano.traded.is_empty() {
            piano.answer(cue, from + sound.beat_zero.unwrap_or(sound.end + REFLEX));
        }
        for (cue, begins) in std::mem::take(&mut piano.traded) {
            piano.answer(&cue, from + begins);
        }
        true
    }
    fn placed(&mut self) -> Option<PlacedCue> {
        self.0.borrow_mut().placed.take()
    }
    fn hush(&mut self) {}
    fn play_back(&mut self, _clips: &[Arc<Clip>]) {}
    fn key_down(&mut self, key: u8, pitch: Hertz, peak: Decibels, most: Decibels) {
        let mut piano = self.0.borrow_mut();
        assert!((pitch.0 - 440.0 * ((f64::from(key) - 69.0) / 12.0).exp2()).abs() < 1e-6, "{key}: {pitch:?}");
        // The usual caution: well below the cue that the player is used to, and soft in itself.
        assert!(peak <= piano.cue_peak - Decibels(6.0) && peak.0 <= -24.0, "{peak:?} beside {:?}", piano.cue_peak);
        assert!(most <= piano.cue_peak && most.0 <= -18.0, "all keys together: {most:?} beside {:?}", piano.cue_peak);
        let now = piano.now;
        piano.sounded.push((now, Some(key), Some(peak)));
    }
    fn key_up(&mut self, key: Option<u8>) {
        let mut piano = self.0.borrow_mut();
        let now = piano.now;
        piano.sounded.push((now, key, None));
    }
}

/// The results of a sitting.
pub struct Sitting {
    pub session: Session,
    pub lines: Vec<String>,
    pub unplugged: u32,
    pub sounded: Vec<(Seconds, Option<u8>, Option<Decibels>)>,
    pub pauses: u32,
    /// The faults of the device that were reported, in order.
    pub wrong: Vec<SoundFault>,
}

pub fn sitting(form: Form, answers: u32, troubles: Troubles) -> Sitting {
    sitting_with(LineChoice::default(), form, answers, troubles)
}

fn stand(troubles: Troubles, traded: Vec<(Cue, Seconds)>) -> Stand {
    Stand(Rc::new(RefCell::new(Piano {
        now: Seconds(1.0),
        troubles,
        coming: VecDeque::from([(Seconds(1.0), opened(Seconds(1.0)))]),
        opened_at: Seconds(1.0),
        placed: None,
        sounded: Vec::new(),
        cue_peak: Decibels(-30.0),
        cues: 0,
        unplugged: 0,
        traded,
    })))
}

/// Plays a trade in which every phrase is answered right and in time. Returns for each answer whether it was judged whole, and how late it
/// was judged to be.
pub fn traded(plan: &Trade) -> Vec<(bool, Option<Seconds>)> {
    let due = plan.exchanges().map(|exchange| (exchange.cue.clone(), plan.tempo.lasting(exchange.answered)));
    let piano = stand(Troubles::default(), due.collect());
    let silence = |_: &Trade, rate: SampleRate| CueSound {
        clip: Clip::silence(rate, Seconds(0.1)).into(),
        end: Seconds(0.1),
        beat_zero: None,
        beats: Vec::new(),
        clicks: Vec::new(),
        notes: Vec::new(),
    };
    let mut rig = MidiPlayer::new(MidiEar::new(piano.clone(), LineChoice::default()), piano);
    let mut judged = Vec::new();
    let mut tell = |moment: Option<TradeMoment>| {
        if let Some(TradeMoment::Judged(_, answers)) = moment {
            judged.extend(answers.iter().map(|answer| (answer.verdict.whole(), answer.verdict.late)));
        }
        true
    };
    trade(&mut rig, plan, &silence, (Some(Seconds(0.0)), Intonation::Unscored), &mut tell).unwrap();
    judged
}

pub fn sitting_with(choice: LineChoice, form: Form, answers: u32, troubles: Troubles) -> Sitting {
    let mut settings = settings("five-note-row-up-and-down", form, &ConcertKey::FIFTHS);
    settings.began.by_midi = true;
    let drill = Drill::new(settings, LearnerModel::new(), Rng::new(5));
    let piano = stand(troubles, Vec::new());
    let (tell, commands) = bounded(4);
    let (mut events, mut pauses, mut lines, mut wrong) = (Vec::new(), 0, Vec::new(), Vec::new());
    let mut out = |out: Out| match out {
        Out::Show(snapshot) => {
            if snapshot.answers >= answers {
                let _ = tell.try_send(Command::End);
            }
            wrong.extend(snapshot.trouble.filter(|now| wrong.last() != Some(now)));
            pauses += u32::from(matches!(snapshot.face, Face::Paused { .. }) && snapshot.trouble.is_some());
        }
        Out::Keep(event, sound) => {
            assert!(sound.is_none(), "there is no sound to keep");
            lines.push(write_line(&event));
            events.push(*event);
        }
        Out::Draft(_) => {}
    };
    let rig = MidiPlayer::new(MidiEar::new(piano.clone(), choice), piano.clone());
    let mut rig = if troubles.silent { rig.sounding(A440) } else { rig };
    DrillLoop::new(drill, &mut rig, &commands, A440, &mut out).run();
    let (unplugged, sounded) = (piano.0.borrow().unplugged, piano.0.borrow().sounded.clone());
    Sitting { session: Session::from_events(&events).unwrap(), lines, unplugged, sounded, pauses, wrong }
}
