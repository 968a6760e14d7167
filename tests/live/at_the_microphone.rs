//! A player at a microphone, to the sample. Loudspeaker and microphone are the two channels of one virtual room, which the player
//! records while he plays: so he hears when a cue begins, lays his answer on its beat, and knows afterwards where it lay.
//!
//! Flow: each block that is recorded makes him play one more, so what he plays lies a steady time ahead of what he hears. Where in the
//! recording a sample comes that he plays is found by the hiss of his own, which he knows.

use std::io::{self, Read, Write};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};
use std::time::{Duration, Instant};

use crate::chance::Chance;
use crate::sound_card::Card;

/// Frames of a block, and of what is played ahead of what is heard, at 48 kHz.
const BLOCK: usize = 480;
const AHEAD: usize = 14_400;
/// So many samples of his hiss tell where in it they stand, if each of them is as near as this.
const TELLING: usize = 32;
const NEAR: f32 = 1e-6;
/// The hiss is looked for among so many of the last samples that were played.
const PLAYED_LATELY: usize = 96_000;
/// What is louder comes out of the loudspeaker.
const SOUNDS: f32 = 1e-5;

/// A room with a loudspeaker and a microphone of its own on the virtual card.
pub struct Room<'c> {
    card: &'c Card,
    number: usize,
    /// The module of the loudspeaker.
    loudspeaker: String,
}

impl<'c> Room<'c> {
    /// A room in which the loudspeaker is at the microphone, for measuring the delay.
    pub fn new(card: &'c Card, number: usize) -> Self {
        let [room, master, microphone] = [
            format!("sink_name=room{number}"),
            format!("master=room{number}.monitor"),
            format!("source_name=microphone{number}"),
        ];
        let both = "channel_map=front-left,front-right";
        card.pactl(&["load-module", "module-null-sink", "norewinds=1", "rate=48000", "channels=2", both, &room]);
        let right = ["channels=1", "channel_map=mono", "master_channel_map=front-right", "remix=no"];
        card.pactl(&[&["load-module", "module-remap-source", &microphone, &master][..], &right].concat());
        let channels = ["channels=2", both, "master_channel_map=front-left,front-right"];
        let loudspeaker = loudspeaker(card, number, &channels);
        Self { card, number, loudspeaker }
    }

    /// The player puts headphones on: the microphone no longer hears the loudspeaker.
    pub fn put_headphones_on(&mut self) {
        self.card.pactl(&["unload-module", &self.loudspeaker]);
        let channels = ["channels=1", "channel_map=mono", "master_channel_map=front-left"];
        self.loudspeaker = loudspeaker(self.card, self.number, &channels);
    }

    /// What the program is told so that it uses this loudspeaker and this microphone.
    pub fn variables(&self) -> [(&'static str, String); 2] {
        let number = self.number;
        [("PULSE_SINK", format!("loudspeaker{number}")), ("PULSE_SOURCE", format!("microphone{number}"))]
    }
}

fn loudspeaker(card: &Card, number: usize, channels: &[&str]) -> String {
    let (name, master) = (format!("sink_name=loudspeaker{number}"), format!("master=room{number}"));
    card.pactl(&[&["load-module", "module-remap-sink", "remix=no", &name, &master][..], channels].concat())
}

/// The player, who hisses softly where he does not play, as any microphone does.
pub struct Player {
    recorder: Child,
    heard: ChildStdout,
    sounder: Child,
    mouth: Option<ChildStdin>,
    chance: Chance,
    hiss: f64,
    /// When the loudspeaker first sounded, in samples; all that was heard at the microphone, and all that was played.
    began: Option<usize>,
    microphone: Vec<f32>,
    played: Vec<f32>,
    /// What is to be played, and from which sample on.
    answer: Option<(i64, Vec<f32>)>,
}

impl Player {
    /// Sits down in a room, with a hiss of this peak.
    pub fn new(room: &Room<'_>, hiss: f64, seed: u64) -> Self {
        let number = room.number;
        let both = ["--raw", "--format=float32le", "--rate=48000", "--channels=2"];
        let begin = |program: &str, device: String, latency: &str, input: Stdio| {
            Command::new(program)
                .args(both)
                .args(["--channel-map=front-left,front-right", latency])
                .arg(format!("--device={device}"))
                .stdin(input)
                .stdout(Stdio::piped())
                .stderr(Stdio::null())
                .spawn()
                .expect("a helper of the sound server")
        };
        let mut recorder = begin("parec", format!("room{number}.monitor"), "--latency-msec=20", Stdio::null());
        let mut sounder = begin("pacat", format!("room{number}"), "--latency-msec=250", Stdio::piped());
        let (heard, mouth) = (recorder.stdout.take().unwrap(), sounder.stdin.take());
        let (microphone, played) = (Vec::new(), Vec::new());
        let chance = Chance::new(seed);
        let mut player =
            Self { recorder, heard, sounder, mouth, chance, hiss, began: None, microphone, played, answer: None };
        // Where that fails, so does the first step.
        let _ = player.play(AHEAD);
        player
    }

    /// Hears a block and plays the next.
    fn step(&mut self) -> io::Result<()> {
        let mut bytes = [0; 8 * BLOCK];
        self.heard.read_exact(&mut bytes)?;
        for frame in bytes.chunks_exact(8) {
            let sample = |at: usize| f32::from_le_bytes(frame[at..at + 4].try_into().unwrap());
            if self.began.is_none() && sample(0).abs() > SOUNDS {
                self.began = Some(self.microphone.len());
            }
            self.microphone.push(sample(4));
        }
        self.play(BLOCK)
    }

    fn play(&mut self, count: usize) -> io::Result<()> {
        let mut bytes = Vec::with_capacity(8 * count);
        for _ in 0..count {
            let hiss = self.chance.between(-self.hiss, self.hiss) as f32;
            let now = self.played.len() as i64;
            let place = |from: i64| usize::try_from(now - from).ok();
            let answer = self.answer.as_ref().and_then(|(from, sound)| sound.get(place(*from)?));
            let sample = answer.copied().unwrap_or(hiss);
            self.played.push(sample);
            bytes.extend(0f32.to_le_bytes());
            bytes.extend(sample.to_le_bytes());
        }
        self.mouth.as_mut().map_or(Ok(()), |mouth| mouth.write_all(&bytes))
    }

    /// Goes on until `done`; whether it came to that within the time, and before the sound server gave up.
    pub fn go_on_until(&mut self, limit: Duration, mut done: impl FnMut(&Self) -> bool) -> bool {
        let until = Instant::now() + limit;
        while !done(self) {
            if Instant::now() > until || self.step().is_err() {
                return false;
            }
        }
        true
    }

    /// The first sample of the cue, once it sounds.
    pub fn cue_began(&self) -> Option<usize> {
        self.began
    }

    /// The number of a sample among those played minus its number among those heard; `None` where his own sound is not heard now.
    pub fn offset(&self) -> Option<i64> {
        let now = self.microphone.len();
        let last = &self.microphone[now.checked_sub(TELLING)?..];
        let lately = self.played.len().saturating_sub(PLAYED_LATELY);
        let same = |played: &[f32]| played.iter().zip(last).all(|(one, other)| (one - other).abs() < NEAR);
        let found = self.played[lately..].windows(TELLING).rposition(same)?;
        Some((lately + found + TELLING) as i64 - now as i64)
    }

    /// Lays a sound so that its sample `beat` is heard as sample `at`. False where that is too late.
    pub fn answer(&mut self, sound: &[f32], beat: usize, at: usize) -> bool {
        let Some(offset) = self.offset() else { return false };
        let from = at as i64 + offset - beat as i64;
        // The beginning of a sound may already be past where nothing but hiss is in it.
        let past = (self.played.len() as i64 - from).max(0) as usize;
        let quiet = sound.iter().take(past).all(|sample| f64::from(sample.abs()) <= self.hiss);
        self.answer = Some((from, sound.to_vec()));
        quiet
    }
}

impl Drop for Player {
    fn drop(&mut self) {
        drop(self.mouth.take());
        for child in [&mut self.recorder, &mut self.sounder] {
            let _ = child.kill();
            let _ = child.wait();
        }
    }
}
