//! Sittings by ear: no screen shows key or pattern before the answer, soft signs without pitch tell everything else, and long notes
//! steer the drill. A player who has only ears (`ears_only.rs`) plays whole sittings.

use std::sync::Arc;

use crossbeam_channel::bounded;
use earfirst::outside::coach::{LearnerModel, Rng};
use earfirst::outside::cue::{Cue, CueSound, Form, SoundSign, signs};
use earfirst::outside::drill::{Drill, Face, Settings, Snapshot};
use earfirst::outside::engine::{AudioSource, CueOutput, DrillLoop, Listener, Out, PlacedCue};
use earfirst::outside::music::ConcertKey;
use earfirst::outside::notes::{EarSettings, hear_clip};
use earfirst::outside::report::review;
use earfirst::outside::room::Echo;
use earfirst::outside::session::{Event, PauseCause, Session, read, write_line};
use earfirst::outside::sound::{Clip, Placement, SoundBlock, convolve};
use earfirst::outside::tui::Plain;
use earfirst::outside::units::{A440, Decibels, Hertz, SampleRate, Seconds, Tempo};
use earfirst::outside::verdict::TempoStep;

use crate::desk::Desk;
use crate::ears_only::{EarsOnly, Manner, Stream, Told, read as read_by_time, samples_until, strokes};
use crate::rehearsal::{Rehearsal, faithful, settings, silent};
use crate::rooms::{self, Draw, Room};
use crate::screens::{drawn, look};

const ALL: [ConcertKey; 12] = ConcertKey::FIFTHS;
const PATTERN: &str = "major-triad-up";
const RATE: SampleRate = rooms::RATE;
const BLOCK: usize = 441;
/// The time from the order to play to the first sample, in seconds, as with a device.
const LEAD: f64 = 0.05;

pub fn by_ear(form: Form) -> Settings {
    let mut settings = settings(PATTERN, form, &ALL);
    settings.plan.first_tempo = Tempo(120.0);
    Settings { by_ear: true, ..settings }
}

/// A loudspeaker, a microphone, and between them a player who has ears only.
struct Stage {
    player: EarsOnly,
    loudspeaker: Stream,
    microphone: Stream,
    /// The impulse response from the loudspeaker to the microphone; `None` with headphones.
    room: Option<Vec<f32>>,
    hiss: Draw,
    given: usize,
    placed: Option<PlacedCue>,
}

impl Stage {
    fn new(manner: Manner, room: Room) -> Self {
        let mut hiss = Draw(31);
        let room = (room != Room::Headphones).then(|| room.response(&mut hiss));
        let (loudspeaker, microphone) = (Stream::default(), Stream::default());
        Self { player: EarsOnly::new(RATE, manner), loudspeaker, microphone, room, hiss, given: 0, placed: None }
    }

    fn sounds(&mut self, number: u32, clip: &Clip) -> bool {
        let lead = RATE.samples(Seconds(LEAD));
        self.placed = Some(PlacedCue { cue: number, place: Placement::at(RATE.seconds(self.given + lead)) });
        self.loudspeaker.lay(lead, &clip.samples);
        if let Some(room) = &self.room {
            let soft = Decibels(-8.0).amplitude() as f32;
            let back: Vec<f32> = convolve(&clip.samples, room).iter().map(|sample| soft * sample).collect();
            self.microphone.lay(lead, &back);
        }
        true
    }
}

impl AudioSource for Stage {
    fn read(&mut self, into: &mut Vec<f32>) -> Option<SoundBlock> {
        let at = RATE.seconds(self.given);
        let heard = self.loudspeaker.take(BLOCK);
        into.clear();
        let microphone = self.microphone.take(BLOCK);
        into.extend(microphone.iter().map(|sample| sample + 5e-4 * self.hiss.between(-1.0, 1.0) as f32));
        self.given += BLOCK;
        for (at, samples) in self.player.hear(&heard, RATE.seconds(self.given).0) {
            self.microphone.lay(samples_until(at, self.given, RATE), &samples);
        }
        Some(SoundBlock { at, rate: RATE, gap: Seconds(0.0) })
    }
}

impl CueOutput for Stage {
    fn output_rate(&mut self) -> Option<SampleRate> {
        Some(RATE)
    }
    fn play(&mut self, cue: &Cue, sound: &CueSound) -> bool {
        self.sounds(cue.number, &sound.clip)
    }
    fn play_signs(&mut self, sound: &CueSound) -> bool {
        self.sounds(0, &sound.clip)
    }
    fn placed(&mut self) -> Option<PlacedCue> {
        self.placed.take()
    }
    fn hush(&mut self) {
        self.loudspeaker.hush();
    }
    fn play_back(&mut self, _: &[Arc<Clip>]) {}
}

/// A whole sitting of that player, who ends it with a long note: the events of the record, and the player.
fn sitting(manner: Manner, room: Room) -> (Vec<Event>, EarsOnly) {
    let mut stage = Stage::new(manner, room);
    let ear = EarSettings { rate: RATE, lowest: Hertz(110.0), highest: Hertz(1500.0), a4: A440 };
    let drill = Drill::new(by_ear(Form::Pattern), LearnerModel::new(), Rng::new(5));
    let (_tell, commands) = bounded(1);
    let mut events = Vec::new();
    let mut out = |out: Out| {
        if let Out::Keep(event, _) = out {
            assert!(events.len() < 2000, "it does not come to an end");
            events.push(*event);
        }
    };
    let mut listener = Listener::new(ear, Echo::new(RATE), &mut stage);
    DrillLoop::new(drill, &mut listener, &commands, A440, &mut out).run();
    (events, stage.player)
}

/// What the player has to understand after an answer to a cue at this tempo with this step: at the ceiling of the goal nothing rises.
fn said_of(step: TempoStep, asked: Tempo) -> Told {
    let ceiling = 144.0 * 0.1f64.exp2();
    match step {
        TempoStep::Up if asked.0.round() < ceiling.round() => Told::Up,
        TempoStep::Up => Told::Passed,
        TempoStep::Stay => Told::Stay,
        TempoStep::Down => Told::Down,
    }
}

/// The tempo at which a cue was asked.
fn tempo_of(events: &[Event], number: u32) -> Tempo {
    let asked = |it: &Event| if let Event::Cued { cue, .. } = it { Some(cue.clone()) } else { None };
    events.iter().filter_map(asked).find(|cue| cue.number == number).expect("asked").tempo
}

#[test]
fn whoever_has_ears_only_follows_a_whole_sitting_and_plays_every_key_back() {
    let longer = std::env::var_os("EARFIRST_LONGER").is_some();
    let answers = if longer { 60 } else { 8 };
    let manner = Manner { answers, pauses_after: 4, late_each: 4 };
    let (events, player) = sitting(manner, Room::Headphones);
    let judged: Vec<_> =
        events.iter().filter_map(|it| if let Event::Judged(it) = it { Some(it) } else { None }).collect();
    let right = judged.iter().filter(|it| it.verdict.right == it.verdict.of && it.verdict.extra == 0).count();
    println!("{right} of {} answers right; {:?}", judged.len(), player.diary);
    assert_eq!((judged.len(), player.told.len()), (answers, answers), "{:?}", player.diary);
    assert!(right * 20 >= answers * 19, "{right} of {answers}: {:?}", player.diary);
    for (n, (judged, told)) in judged.iter().zip(&player.told).enumerate() {
        let late = (n + 1).is_multiple_of(manner.late_each);
        let (told, tempo) = (read_by_time(told), tempo_of(&events, judged.cue));
        assert_eq!(told.last(), Some(&said_of(judged.step.unwrap(), tempo)), "answer {}: {}", n + 1, judged.sentence);
        assert!(!late || told[0] == Told::Late, "late, and told so: answer {}: {told:?} {}", n + 1, judged.sentence);
    }
    let mut keys: Vec<i32> = player.firsts.iter().map(|pitch| pitch % 12).collect();
    keys.sort_unstable();
    keys.dedup();
    assert!(keys.len() >= if longer { 12 } else { 4 }, "{keys:?}");
    let paused: Vec<PauseCause> =
        events.iter().filter_map(|it| if let Event::Paused { cause, .. } = it { Some(*cause) } else { None }).collect();
    assert!(paused.starts_with(&[PauseCause::Asked]), "{paused:?}");
    assert_eq!(paused[paused.len() - 2..], [PauseCause::Asked, PauseCause::Rest], "held on, it rested before it ended");
    assert!(matches!(events.last(), Some(Event::Ended(_))), "the held note ended it");
}

#[test]
fn before_a_loudspeaker_no_sign_is_taken_for_a_note_of_the_players() {
    let manner = Manner { answers: 3, pauses_after: 99, late_each: 99 };
    let (events, player) = sitting(manner, Room::Decay(0.2));
    let heard: Vec<usize> =
        events.iter().filter_map(|it| if let Event::Answered(it) = it { Some(it.heard.len()) } else { None }).collect();
    let right = events
        .iter()
        .filter(|it| matches!(it, Event::Judged(it) if it.verdict.right == 4 && it.verdict.extra == 0))
        .count();
    // The first cue is the one by which the room is learnt.
    assert!(right >= 2 && heard.iter().skip(1).all(|notes| *notes == 4), "{heard:?} {:?}", player.diary);
}

#[test]
fn each_sign_of_a_verdict_is_understood_by_wood_and_brush_and_time_and_no_count_is_as_quick_as_its_woods() {
    use SoundSign::{Down, Early, Late, Passed, Stay, Uneven, Up};
    let steps = [(Up, Told::Up), (Passed, Told::Passed), (Stay, Told::Stay), (Down, Told::Down)];
    let times = [(vec![], None), (vec![Early], Some(Told::Early)), (vec![Late], Some(Told::Late))];
    let times = times.into_iter().chain([(vec![Uneven], Some(Told::Uneven))]);
    for (time, first) in times {
        for (step, second) in &steps {
            let wanted: Vec<SoundSign> = time.iter().chain([step]).copied().collect();
            let strokes = strokes(RATE, &signs(&wanted, RATE, Decibels(-12.0)).clip.samples);
            let understood: Vec<Told> = first.into_iter().chain([*second]).collect();
            assert_eq!(read_by_time(&strokes), understood, "{wanted:?} {strokes:?}");
            // The beats of a count last .2 s or more (a quarter = 300).
            let mut gaps = strokes.windows(2).map(|pair| pair[1].at - pair[0].at);
            assert!(first.is_some() || gaps.by_ref().take(3).all(|gap| gap < 0.19), "{strokes:?}");
        }
    }
}

#[test]
fn no_sign_has_a_pitch_that_the_ear_would_take_for_a_note() {
    let mut told = signs(&SoundSign::ALL, RATE, Decibels(-12.0)).clip.as_ref().clone();
    assert!((told.peak().0 + 18.0).abs() < 0.1, "softer than a cue");
    told.samples.resize(told.samples.len() + RATE.samples(Seconds(1.0)), 0.0);
    let ear = EarSettings { rate: RATE, lowest: Hertz(60.0), highest: Hertz(2000.0), a4: A440 };
    let heard = hear_clip(&ear, &told);
    assert!(heard.is_empty(), "{heard:?}");
}

/// The text of screens and plain lines before the first answer.
fn shown_before(snapshots: &[(f64, Snapshot)]) -> String {
    let unanswered = |it: &&(f64, Snapshot)| matches!(it.1.face, Face::Listen { .. } | Face::YourTurn { .. });
    snapshots.iter().filter(unanswered).map(|(_, snapshot)| drawn(snapshot, 80, 24, false).0).collect()
}

#[test]
fn nothing_shown_tells_key_or_pattern_until_it_was_answered() {
    for form in [Form::Pattern, Form::Chord, Form::FirstNote] {
        let mut room = Rehearsal::new(by_ear(form), faithful(if form == Form::Pattern { 0.02 } else { 0.5 }));
        room.run_until(|room| room.cues.len() == 4);
        let screens = shown_before(&room.shown);
        assert!(screens.contains("by ear") && !screens.contains("major triad") && !screens.contains('['), "{screens}");
        assert!(
            room.shown
                .iter()
                .all(|(_, it)| !it.key_known || !matches!(it.face, Face::Listen { .. } | Face::YourTurn { .. }))
        );
        let verdicts: String = room
            .shown
            .iter()
            .filter(|it| matches!(it.1.face, Face::Verdict { .. }))
            .map(|it| drawn(&it.1, 80, 24, false).0)
            .collect();
        assert!(verdicts.contains("asked   ") && !verdicts.contains("next   "), "{verdicts}");
        let mut plain = Plain::new(look(false));
        let lines: Vec<String> = room.shown.iter().flat_map(|(_, snapshot)| plain.lines(snapshot)).collect();
        let listen = lines.iter().position(|line| line.starts_with("listen · by ear · ")).expect("said");
        let was = lines.iter().position(|line| line.starts_with("it was · ")).expect("said");
        assert!(listen < was && lines[was].ends_with(" · major triad up"), "{lines:?}");
        assert!(lines[..was].iter().all(|line| !line.contains("triad")), "{lines:?}");
    }
}

#[test]
fn what_was_asked_by_ear_stands_in_the_record_and_in_the_review() {
    let mut room = Rehearsal::new(by_ear(Form::Pattern), faithful(0.02));
    room.run_until(|room| room.cues.len() == 6);
    let file: String = room.events.iter().map(write_line).collect();
    let (events, damage) = read(file.as_bytes());
    assert_eq!((damage, &events), (None, &room.events));
    assert_eq!(review(&[Session::from_events(&events).unwrap()]).parts[0].sittings[0].by_ear, (5, 5));
    assert!(room.signs.iter().all(|(_, told)| told == &[SoundSign::Up]), "{:?}", room.signs);
}

#[test]
fn no_answer_pauses_however_long_its_notes_are_but_a_note_below_all_that_is_asked_does() {
    let mut slow = by_ear(Form::Pattern);
    slow.plan.first_tempo = Tempo(40.0);
    let mut room = Rehearsal::new(
        slow,
        Box::new(|cue, _, beat| {
            // Each note much too long, and the last one for ever.
            let (beat, zero) = (cue.tempo.beat().0, beat.unwrap().0);
            let notes = cue.line.notes.iter().enumerate();
            notes
                .map(|(n, note)| {
                    (zero + 5.0 * n as f64, if n == 2 { 8.0 } else { 4.9 }, f64::from(note.pitch.0) + 0.0 * beat)
                })
                .collect()
        }),
    );
    room.run_until(|room| !room.signs.is_empty());
    assert!(room.signs[0].1 != [SoundSign::Waits], "{:?}", room.signs);
    let mut room = Rehearsal::new(by_ear(Form::Pattern), silent());
    room.run_until(|room| matches!(room.face(), Face::YourTurn { .. }));
    let (now, low) = (room.now, f64::from(room.cues[0].1.line.notes[0].pitch.0) - 1.0);
    room.play(now, 3.6, low);
    room.run(3.7);
    assert_eq!(room.signs.last().unwrap().1, [SoundSign::Waits]);
}

#[test]
fn the_simulated_player_is_heard_by_ear_and_what_cannot_be_heard_is_refused() {
    let desk = Desk::new("by-ear");
    let told = desk.done("demo --by-ear --fast --plain --instrument flute --seed 4 --tempo 160 --answers 3");
    assert_eq!((told.matches("listen · by ear").count(), told.matches("it was · ").count()), (3, 3), "{told}");
    let reviewed = desk.done("review data/sessions").split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(reviewed.contains("by ear alone ") && reviewed.contains(" of 3 all right"), "{reviewed}");
    let (log, json) = (desk.done("log"), desk.done("log --json"));
    assert!(log.contains("By ear alone, neither key nor pattern shown: "), "{log}");
    assert!(json.contains("\"by_ear\":{\"of\":3,\"sittings\":1,"), "{json}");
    desk.done("review data/sessions --html page.html");
    assert!(std::fs::read_to_string(desk.0.join("page.html")).unwrap().contains("By ear alone, neither key"));
    for line in ["demo --fast --plain --by-ear --cue name", "demo --fast --plain --by-ear --cue chord"] {
        let (code, said) = desk.run(line);
        assert!(code == 2 && said.contains("--by-ear"), "{said}");
    }
}
