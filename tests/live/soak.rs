//! Hours of practice: a robot answers every cue of a drill on the virtual sound card. From ten minutes on the program may take no more
//! handles and threads, and, beside the record itself, hardly more memory.

use std::time::{Duration, Instant};

use crate::drilling::{Drill, PATTERN, answer, stillness};
use crate::sound_card::{Card, on_a_virtual_card};

const MINUTE: Duration = Duration::from_secs(60);
/// Time in which caches and histories fill; figures are compared only afterwards.
const WARM: Duration = Duration::from_secs(600);
/// Most by which memory may grow, beside the record, in kibibytes.
const MOVES_KIB: u64 = 2048;
/// After this time without a word the robot plays a long note, as a player does to end a pause.
const SILENT: Duration = Duration::from_secs(20);

/// What a process takes: resident memory in kibibytes, open handles, threads (proc(5)).
#[derive(Debug, Clone, Copy)]
struct Held {
    resident_kib: u64,
    /// Size of the record. It is kept in memory too, so that a disk that dies takes nothing that was played.
    record_kib: u64,
    handles: usize,
    threads: usize,
}

fn held(process: u32, sessions: &std::path::Path) -> Held {
    let live = std::fs::read_dir(sessions).expect("a live folder").map(|entry| entry.expect("a folder").path());
    let record_kib =
        live.filter_map(|folder| std::fs::metadata(folder.join("session.jsonl")).ok()).map(|meta| meta.len() / 1024);
    let record_kib = record_kib.sum();
    let folder = std::path::PathBuf::from(format!("/proc/{process}"));
    let count = |name: &str| std::fs::read_dir(folder.join(name)).expect("it runs").count();
    let status = std::fs::read_to_string(folder.join("status")).expect("it runs");
    let resident = status.lines().find_map(|line| line.strip_prefix("VmRSS:")).expect("a line of memory");
    let resident_kib = resident.trim().trim_end_matches(" kB").parse().expect("a number");
    Held { resident_kib, record_kib, handles: count("fd"), threads: count("task") }
}

#[test]
fn hours_of_practice_take_no_more_memory_handles_or_threads_than_ten_minutes() {
    if std::env::var_os("EARFIRST_LONGER").is_none() {
        return println!("skipped: two hours; EARFIRST_LONGER=1 runs it");
    }
    let minutes = std::env::var("EARFIRST_SOAK_MINUTES").ok().and_then(|minutes| minutes.parse().ok()).unwrap_or(120);
    on_a_virtual_card(
        "soak::hours_of_practice_take_no_more_memory_handles_or_threads_than_ten_minutes",
        |card: &Card| soak(card, minutes),
    );
}

fn soak(card: &Card, minutes: u32) {
    let _room = card.play_into_microphone("stillness", &stillness(minutes as usize * 60 + 60));
    let (line, tone) = (answer(120.0), answer(30.0));
    let arguments = ["drill", PATTERN, "--plain", "--cue", "first-note", "--instrument", "trumpet", "--keys", "C"];
    let mut drill = Drill::run("soak", &[&arguments[..], &["--register", "middle", "--seed", "5"]].concat());
    let process = drill.process();
    let (begun, mut looked, mut playing) = (Instant::now(), Instant::now(), None);
    let (mut warm, mut most, mut answers): (Option<Held>, _, u32) = (None, (0, 0), 0);
    let mut word = Instant::now();
    while begun.elapsed() < minutes * MINUTE {
        if let Some(said) = drill.next_line(Duration::from_millis(200)) {
            word = Instant::now();
            if said == "your turn" {
                answers += 1;
                playing = Some(card.play_into_microphone("answer", &line));
            }
        } else if word.elapsed() > SILENT {
            word = Instant::now();
            playing = Some(card.play_into_microphone("held", &tone));
        }
        if looked.elapsed() < MINUTE / 2 {
            continue;
        }
        looked = Instant::now();
        let now = held(process, &drill.sessions());
        println!("{:.1} minutes, {answers} answers: {now:?}", begun.elapsed().as_secs_f64() / 60.0);
        if begun.elapsed() < WARM {
            // The most of them count, because there are fewer while a stream is opened anew.
            most = (most.0.max(now.handles), most.1.max(now.threads));
        } else {
            let first = *warm.get_or_insert(now);
            let record_kib = now.record_kib - first.record_kib;
            assert!(now.resident_kib <= first.resident_kib + record_kib + MOVES_KIB, "{first:?}, and now {now:?}");
            assert!(now.handles <= most.0 && now.threads <= most.1, "{first:?}, and now {now:?}");
        }
    }
    drop(playing);
    assert!(answers > minutes, "the robot practised: {answers} answers in {minutes} minutes");
    let data = drill.end();
    let _ = std::fs::remove_dir_all(&data);
}
