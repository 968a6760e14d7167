//! One answer with a planted fault, before the microphone and without a sound card.

use std::path::{Path, PathBuf};
use std::time::Duration;

use earfirst::outside::files::read_sessions;
use earfirst::outside::notes::HeardNote;
use earfirst::outside::session::{Session, Trial};
use earfirst::outside::sound::Clip;
use earfirst::outside::units::{SampleRate, Seconds};
use earfirst::outside::verdict::{Finding, TimeOrigin, Untimed, UsualTuning, findings};

use crate::asked_by_lesson::Asked;
use crate::at_the_microphone::{Player, Room};
use crate::cases::{Case, case};
use crate::chance::Chance;
use crate::drilling::Drill;
use crate::manner::BEAT_ZERO;
use crate::robot::Robot;
use crate::rule::{Said, hear, keep, said_of};

/// Peak of the hiss in a room (the robot's own), and in one where the delay is measured: a loudspeaker that comes back without any is
/// taken for no microphone.
const HISS: f64 = 0.0008;
const HISS_WHILE_MEASURED: f64 = 0.01;
const PATIENCE: Duration = Duration::from_secs(60);
/// How often an answer is played at most, where sound got lost on a busy machine.
const TRIES: usize = 4;
/// The sound lies where it should within so many samples at 48 kHz.
const STEADY: u64 = 24;

/// A case, asked by the drill, with the sound of its answer.
pub struct Ready {
    pub kind: &'static str,
    pub seed: u64,
    pub case: Case,
    asked: Asked,
    clip: Clip,
}

impl Ready {
    /// The case of this seed, or of the next that a drill can ask.
    pub fn new(kind: &'static str, seed: u64) -> Self {
        let (seed, case, asked) = (seed..)
            .step_by(10_000)
            .find_map(|seed| {
                let case = case(kind, seed);
                let asked = Asked::new(&case.take).filter(|asked| room_before(kind, asked))?;
                Some((seed, case, asked))
            })
            .unwrap();
        let clip = Robot::get().play(case.take.program, &case.take.strokes(), &mut Chance::new(seed ^ 0x0a1e));
        Self { kind, seed, case, asked, clip }
    }
}

/// Whether there is room enough between the cue and beat 0: nobody begins three beats early while the cue still sounds.
fn room_before(kind: &str, asked: &Asked) -> bool {
    kind != "three beats early" || (asked.due - asked.sound.end).0 > 3.0 * asked.cue.tempo.beat().0 + 0.2
}

/// Measures the delay of a room's loudspeaker and microphone; gives the settings in which it is kept.
pub fn calibrated(room: &mut Room<'_>, folder: &Path) -> PathBuf {
    let data = folder.join("calibrated");
    let kept = (0..TRIES).any(|_| {
        let _ = std::fs::remove_dir_all(&data);
        let mut player = Player::new(room, HISS_WHILE_MEASURED, 1);
        let mut measuring = Drill::run_in(data.clone(), &["calibrate"], &room.variables());
        player.go_on_until(PATIENCE, |_| measuring.ended());
        data.join("settings.toml").exists()
    });
    assert!(kept, "no delay was measured");
    room.put_headphones_on();
    data.join("settings.toml")
}

/// What became of one answer, live and without a sound card.
pub struct Came {
    pub ready: Ready,
    pub live: Said,
    pub offline: Said,
    /// The notes heard, live and without a sound card, on the clock of the take.
    pub heard: [Vec<HeardNote>; 2],
    /// How often it was played in vain because sound got lost.
    pub lost: usize,
}

impl Came {
    /// Plays the answer, again where sound got lost; `None` where it was lost again and again.
    pub fn of(room: &Room<'_>, settings: &Path, ready: Ready) -> Option<Self> {
        let dry = |session: &Session| live(session, &ready).0.found.contains(&Finding::Untimed(Untimed::Xrun));
        let whole = || played(room, settings, &ready).filter(|session| !dry(session));
        let (lost, session) = (0..TRIES).find_map(|lost| Some((lost, whole()?)))?;
        keep(&ready.clip, &ready.seed.to_string());
        let take = &ready.case.take;
        let (said, heard) = live(&session, &ready);
        let alone = hear(take, &ready.clip);
        let offline = said_of(take, &ready.asked.expectation, &alone);
        Some(Self { live: said, offline, heard: [heard, alone], lost, ready })
    }

    /// How much later each note was heard live, in seconds; empty where another number of notes was heard.
    pub fn moved(&self) -> Vec<f64> {
        let [live, offline] = &self.heard;
        if live.len() != offline.len() {
            return Vec::new();
        }
        live.iter().zip(offline).map(|(one, other)| (one.onset - other.onset).0).collect()
    }
}

/// What the program said and heard in a sitting of one answer.
fn live(session: &Session, ready: &Ready) -> (Said, Vec<HeardNote>) {
    let of = |turn: &Trial| {
        let asked = turn.expectation(&session.began, ready.case.take.asked.intonation, UsualTuning::Withheld)?;
        let TimeOrigin::InTempo { beat_zero, .. } = asked.clock else { return None };
        let TimeOrigin::InTempo { beat_zero: without, .. } = ready.asked.expectation.clock else { return None };
        let judged = turn.judgement.as_ref()?;
        let late = beat_zero + asked.taken_off() - without;
        let moved = |note: &HeardNote| HeardNote { onset: note.onset - late, release: note.release - late, ..*note };
        let heard = turn.answer.as_ref()?.heard.iter().map(moved).collect();
        Some((Said { found: findings(&judged.verdict, &asked), sentence: judged.sentence.clone() }, heard))
    };
    let nothing = Said { found: vec![Finding::NothingCame { strays: false }], sentence: String::new() };
    session.trials.iter().find_map(of).unwrap_or((nothing, Vec::new()))
}

/// A sitting of one answer in a room; `None` where some of its sound got lost.
fn played(room: &Room<'_>, settings: &Path, ready: &Ready) -> Option<Session> {
    let data = settings.parent().unwrap().with_file_name("answer");
    let words = laid_ready(&data, settings, ready);
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let mut player = Player::new(room, HISS, ready.seed);
    let mut drill = Drill::run_in(data.clone(), &words, &room.variables());
    player.go_on_until(PATIENCE, |player| player.cue_began().is_some()).then_some(())?;
    let samples = |at: Seconds| SampleRate::DEVICE.samples(at);
    let first = ready.asked.sound.clip.samples.iter().position(|sample| sample.abs() > 1e-5).unwrap();
    let due = player.cue_began()? + samples(ready.asked.due) - first;
    let before = player.offset()?;
    player.answer(&ready.clip.samples, samples(Seconds(BEAT_ZERO)), due).then_some(())?;
    let mut told = Vec::new();
    let over = player.go_on_until(PATIENCE, |_| {
        told.extend(std::iter::from_fn(|| drill.next_line(Duration::ZERO)));
        // Where nothing was heard, the drill would ask again.
        drill.ended() || told.iter().filter(|line: &&String| line.starts_with("listen ·")).count() > 1
    });
    let steady = over && player.offset()?.abs_diff(before) <= STEADY;
    if drill.ended() {
        told.extend(std::iter::from_fn(|| drill.next_line(Duration::from_millis(100))));
    } else {
        drill.end();
    }
    let found = read_sessions(&[data.join("sessions")]);
    let session = found.sessions.first()?.session()?;
    let judged = session.trials.iter().find_map(|turn| turn.judgement.as_ref());
    let printed = |sentence: &str| told.iter().any(|line| line.contains(sentence));
    assert!(judged.is_none_or(|it| printed(&it.sentence)), "{judged:?} was not said: {}", told.join("\n"));
    assert!(session.trials.iter().all(|turn| turn.cue.line == ready.asked.cue.line), "{words:?}");
    steady.then_some(session)
}

/// Lays a folder ready for a sitting; gives the words with which it begins.
fn laid_ready(data: &Path, settings: &Path, ready: &Ready) -> Vec<String> {
    let _ = std::fs::remove_dir_all(data);
    std::fs::create_dir_all(data).unwrap();
    std::fs::copy(settings, data.join("settings.toml")).unwrap();
    let lesson = data.join("lesson.toml");
    std::fs::write(&lesson, &ready.asked.lesson).unwrap();
    let words = ["drill", "--plain", "--concert", "--compass", "student", "--keep-sound", "none", "--instrument"];
    let (instrument, lesson) = (ready.case.take.instrument.id.as_str(), lesson.display().to_string());
    [&words[..], &[instrument, "--lesson", &lesson]].concat().into_iter().map(str::to_owned).collect()
}
