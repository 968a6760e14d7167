//! A whole drill as a player sees it, on a terminal and the virtual sound card: the program counts four and sounds the whole pattern,
//! and the player answers in tempo from the next bar on.

use std::collections::BTreeSet;
use std::f64::consts::TAU;
use std::path::Path;

use earfirst::outside::cue::{Cue, Form, Rendering, Timing, sound};
use earfirst::outside::files::read_sessions;
use earfirst::outside::music::{HalfSteps, instrument};
use earfirst::outside::session::{Session, Trial};
use earfirst::outside::units::SampleRate;
use earfirst::outside::verdict::NoteLabel;
use earfirst::outside::words::{Page, reason};

use crate::drilling::{PATTERN, stillness};
use crate::sound_card::{Card, on_a_virtual_card, too_busy};
use crate::stage::Stage;

const RATE: f64 = 48_000.0;
/// Most cues that a player answers until there is one whose sound did not falter.
const MOST: usize = 10;
/// Most drills that are begun, on a machine that has other things to do.
const TRIES: usize = 4;
/// What the screen says of lost devices.
const GONE: &str = "has stopped";
/// Clicks of the count.
const COUNT: usize = 4;

fn record(data: &Path) -> Session {
    let found = read_sessions(&[data.join("sessions")]);
    assert_eq!((found.sessions.len(), found.failures.len()), (1, 0));
    found.sessions[0].session().expect("it began")
}

/// The samples of an answer, to be played from the end of the cue on: silence until the next bar, then the line, faultless or with the
/// third note a half step low. The silence is a tenth of a second too short, because the program that plays the samples takes about
/// that long to begin.
fn in_tempo(cue: &Cue, faultless: bool) -> Vec<f32> {
    let sounded = sound(cue, &Rendering { count_in: true, ..Rendering::new(SampleRate::DEVICE) });
    let wait = sounded.beat_zero.expect("an answer in tempo").0 - sounded.end.0 - 0.1;
    let mut line = Cue { timing: Timing::Free, ..cue.clone() };
    if !faultless {
        line.line.notes[2].pitch.0 -= 1;
    }
    let mut samples = vec![0.0; (wait * RATE) as usize];
    samples.extend_from_slice(&sound(&line, &Rendering::new(SampleRate::DEVICE)).clip.samples);
    samples
}

/// Whether the sound did not falter from the cue to the answer. Where it faltered, the verdict says nothing of early or late.
fn steady(turn: &Trial) -> bool {
    turn.judgement.as_ref().is_some_and(|judged| judged.verdict.late.is_some())
}

#[test]
fn a_drill_on_a_terminal_sounds_true_cues_and_shows_what_it_records() {
    on_a_virtual_card(
        "on_a_terminal::a_drill_on_a_terminal_sounds_true_cues_and_shows_what_it_records",
        |card: &Card| {
            let calm =
                (1..=TRIES).find_map(|_| calm_drill(card)).filter(|(session, ..)| session.trials.iter().any(steady));
            let Some((session, rows, sounded)) = calm else { return too_busy() };
            shown_as_recorded(&rows, &session);
            cues_sounded_as_recorded(&sounded, &session);
        },
    );
}

/// Plays a drill of some answers. Returns its record, every row that stood on the screen, and what came out of the loudspeaker; `None`
/// where a busy machine kept the sound away for so long that the program took its devices for gone.
fn calm_drill(card: &Card) -> Option<(Session, BTreeSet<String>, Vec<f32>)> {
    let _room = card.play_into_microphone("stillness", &stillness(400));
    let recording = card.record_loudspeaker("cues");
    let arguments = [
        "drill",
        PATTERN,
        "--instrument",
        "trumpet",
        "--keys",
        "C G",
        "--tempo",
        "60",
        "--seed",
        "5",
        "--keep-sound",
        "all",
    ];
    let mut stage = Stage::begin("live", &arguments, 80, 24, &[]);
    for answered in 1..=MOST {
        for wanted in ["listen", "your turn"] {
            (stage.await_either(&[wanted, GONE]) == wanted).then_some(())?;
        }
        let asked = record(&stage.data).trials.pop().expect("a cue").cue;
        assert_eq!((asked.form, asked.timing), (Form::Pattern, Timing::InTempo));
        let _answer = card.play_into_microphone("answer", &in_tempo(&asked, answered > 1));
        (stage.await_either(&["next   ", GONE]) != GONE).then_some(())?;
        if answered >= 2 && record(&stage.data).trials[1..].iter().any(steady) {
            break;
        }
    }
    // One more cue, so that the cue that was announced has come.
    for wanted in ["listen", "your turn"] {
        (stage.await_either(&[wanted, GONE]) == wanted).then_some(())?;
    }
    let sounded = recording.end();
    stage.press("q");
    stage.await_text("any key leaves");
    stage.press("x");
    stage.await_text("kept in");
    let (session, rows) = (record(&stage.data), stage.rows.clone());
    let kept = std::fs::read_to_string(stage.data.join("settings.toml")).expect("the level that was answered is kept");
    assert!(kept.contains("[[cue_level]]") && kept.contains("peak_db = -30"), "{kept}");
    assert_eq!(stage.end(), 0);
    session.pauses.is_empty().then_some((session, rows, sounded))
}

/// Checks the verdicts, the first of which has to tell of the third note a half step low and all others of no fault; and checks that
/// each recorded sentence, and the reason for the next cue, stood on the screen word for word.
fn shown_as_recorded(rows: &BTreeSet<String>, session: &Session) {
    let trumpet = instrument("trumpet").expect("a trumpet");
    let page = Page::new(trumpet.clone(), session.began.reading);
    let judged: Vec<usize> = (0..session.trials.len()).filter(|&n| session.trials[n].judgement.is_some()).collect();
    assert!(judged.len() >= 2, "{:?}", session.trials);
    for n in judged {
        let (turn, next) = (&session.trials[n], &session.trials[n + 1]);
        let judgement = turn.judgement.as_ref().expect("chosen so");
        // Where the sound faltered in an answer, notes of it may be missing.
        let wrong = Some((NoteLabel::Wrong(HalfSteps(-1)), 8)).filter(|_| n == 0).unwrap_or((NoteLabel::Right, 9));
        let told = (judgement.verdict.expected[2].label, judgement.verdict.right);
        assert!(told == wrong && judgement.verdict.whole() == (n > 0) || !steady(turn), "{judgement:?}");
        if n == 0 && steady(turn) {
            assert!(
                judgement.sentence.starts_with("Eight of nine: the third note, E, was a half step low"),
                "{}",
                judgement.sentence
            );
        }
        let (key, mode) = (next.cue.key, next.cue.spelling.mode);
        let next = reason::sentence(&next.reason, key, mode, &page, Some(session.began.day));
        assert!(rows.contains(&judgement.sentence), "\"{}\" was not shown: {rows:#?}", judgement.sentence);
        // The reason may go on in a second row.
        let next = format!("next   {next}");
        let begins = |row: &String| row.starts_with("next   ") && next.starts_with(row.as_str());
        assert!(rows.iter().any(begins), "\"{next}\" was not shown: {rows:#?}");
        if steady(turn) {
            let pace = judgement.verdict.pace.expect("nine notes have a pace").0;
            assert!((pace / turn.cue.tempo.0 - 1.0).abs() < 0.01, "{pace} for {:?}", turn.cue.tempo);
            let late = judgement.verdict.late.expect("steady").0;
            println!("cue {}: pace {pace:.2}, late {:.0} ms", turn.cue.number, 1000.0 * late);
            assert!(late.abs() < 0.5 * turn.cue.tempo.beat().0, "half a beat off: {late} s");
        }
    }
}

/// Checks what came out of the loudspeaker against the cues of the record: the count in tempo, then every note of the line in order, in
/// its place, and in equal temperament (MIDI 69 = 440 Hz, twelve equal half steps: MIDI 1.0 specification).
fn cues_sounded_as_recorded(sounded: &[f32], session: &Session) {
    let cues = cues_apart(sounded);
    assert!(cues.len() >= session.trials.len(), "{} cues came out for {}", cues.len(), session.trials.len());
    let mut checked = 0;
    for (cue, turn) in cues.iter().zip(&session.trials).filter(|(_, turn)| steady(turn)) {
        let (onsets, number, beat) = (onsets(cue), turn.cue.number, 60.0 / turn.cue.tempo.0);
        let notes = &turn.cue.line.notes;
        assert_eq!(onsets.len(), COUNT + notes.len(), "cue {number}: {onsets:?}");
        let (count, line) = onsets.split_at(COUNT);
        for (n, click) in count.iter().enumerate() {
            let off = (click - count[0]) as f64 / RATE - n as f64 * beat;
            assert!(off.abs() <= 0.005, "cue {number}, click {n}: {off} s off");
        }
        for (n, (&onset, note)) in line.iter().zip(notes).enumerate() {
            let off = (onset - line[0]) as f64 / RATE - (note.at.0 - notes[0].at.0) * beat;
            let wanted_hz = 440.0 * ((f64::from(note.pitch.0) - 69.0) / 12.0).exp2();
            // The middle of the note: it is let go after nine tenths of its length.
            let from = onset + 2400;
            let until = onset + (0.85 * note.length.0 * beat * RATE) as usize;
            let cents = 1200.0 * (pitch_hz(&cue[from..until], wanted_hz) / wanted_hz).log2();
            println!("cue {number}, note {}: {cents:+.2} cents, {:+.1} ms", n + 1, 1000.0 * off);
            assert!(off.abs() <= 0.005, "cue {number}, note {}: {off} s off", n + 1);
            assert!(cents.abs() <= 1.0, "cue {number}, note {}: {cents} cents off", n + 1);
        }
        checked += 1;
    }
    assert!(checked >= 1, "the sound of every cue faltered");
}

/// The stretches of sound between pauses of more than a second and a half, which only answers and verdicts make.
fn cues_apart(sounded: &[f32]) -> Vec<&[f32]> {
    let loud: Vec<usize> = (0..sounded.len()).filter(|&n| sounded[n].abs() > 1e-3).collect();
    loud.chunk_by(|a, b| b - a < (1.5 * RATE) as usize).map(|cue| &sounded[cue[0]..=cue[cue.len() - 1]]).collect()
}

/// Where the sound rises over a fifth of its peak after four milliseconds below a tenth.
fn onsets(cue: &[f32]) -> Vec<usize> {
    let peak = cue.iter().fold(0.0_f32, |top, sample| top.max(sample.abs()));
    let (mut still, mut found) = (usize::MAX, Vec::new());
    for (n, sample) in cue.iter().map(|sample| sample.abs() / peak).enumerate() {
        if sample > 0.2 && still >= 192 {
            found.push(n);
        }
        still = if sample > 0.2 {
            0
        } else if sample < 0.1 || still >= 192 {
            still.saturating_add(1)
        } else {
            0
        };
    }
    found
}

/// The frequency of the partial that lies within half a half step of `near_hz`. It is found by how far the phase of the partial goes on
/// from one window to the next; the windows last 80 ms, begin 5 ms apart, and have the shape of a raised cosine.
fn pitch_hz(note: &[f32], near_hz: f64) -> f64 {
    const WINDOW: usize = 3840;
    const HOP: usize = 240;
    let phase = |from: usize| {
        let (mut re, mut im) = (0.0, 0.0);
        for (n, sample) in note[from..from + WINDOW].iter().enumerate() {
            let weighed = f64::from(*sample) * (std::f64::consts::PI * n as f64 / WINDOW as f64).sin().powi(2);
            let angle = TAU * near_hz * (from + n) as f64 / RATE;
            re += weighed * angle.cos();
            im -= weighed * angle.sin();
        }
        im.atan2(re)
    };
    let phases: Vec<f64> = (0..=note.len() - WINDOW).step_by(HOP).map(phase).collect();
    let turned: f64 = phases.windows(2).map(|pair| (pair[1] - pair[0] + TAU / 2.0).rem_euclid(TAU) - TAU / 2.0).sum();
    near_hz + turned / TAU * RATE / (HOP * (phases.len() - 1)) as f64
}
