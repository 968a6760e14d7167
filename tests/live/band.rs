//! The band on the virtual sound card: recorded from two loudspeakers and measured; and phrases traded round the twelve keys before a
//! microphone that hears band and player alike loud, with what the program takes of the machine meanwhile.

use std::io::Read;
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use earfirst::outside::files::read_sessions;

use crate::band_heard::{BandHeard, TEMPO, chart};
use crate::drilling::{Drill, stillness};
use crate::sound_card::{Card, on_a_virtual_card, too_busy};

const RATE: f64 = 48_000.0;
/// Bars of a chorus; the band plays two, the second in another key.
const BARS: usize = 32;

/// The program plays two choruses with these parts on this loudspeaker.
fn plays(card: &Card, loudspeaker: &str, parts: [&str; 3]) -> Child {
    let file = card.file("chart.txt");
    std::fs::write(&file, chart(BARS)).unwrap();
    Command::new(env!("CARGO_BIN_EXE_earfirst"))
        .args(["charts", "sound", &file.display().to_string(), "--key", "C", "--concert", "--moves", "fourths"])
        .args(["--choruses", "2", "--seed", "4", "--tempo", &TEMPO.to_string(), "--pulse", "click"])
        .args(parts)
        .env("EARFIRST_DATA", card.file(loudspeaker))
        .env("PULSE_SINK", loudspeaker)
        .stdout(Stdio::null())
        .spawn()
        .unwrap()
}

fn heard(samples: Vec<f32>) -> BandHeard {
    let first = samples.iter().position(|sample| sample.abs() > 0.001).expect("the lead-in came out");
    BandHeard { rate: RATE, samples, begins: first as f64 / RATE }
}

#[test]
fn loudspeakers_play_sixty_four_bars_in_tune_in_time_and_in_form_through_a_change_of_key() {
    on_a_virtual_card(
        "band::loudspeakers_play_sixty_four_bars_in_tune_in_time_and_in_form_through_a_change_of_key",
        |card: &Card| {
            card.plug_loudspeaker("second");
            // Where the sound faltered on a busy machine, time and pitch are measured once more; the form stands all the same.
            for _ in 0..2 {
                let recordings = ["speaker", "second"].map(|name| card.record(name));
                let bass = ("speaker", ["--bass", "walking", "--no-chords"]);
                let bands = [bass, ("second", ["--bass", "none", "--even"])].map(|(on, parts)| plays(card, on, parts));
                bands.into_iter().for_each(|mut band| assert!(band.wait().unwrap().success()));
                let [bass, chords] = recordings.map(|recording| heard(recording.end()));
                let off = [bass.bass_over(BARS, 2), chords.chords_over(BARS, 2)];
                println!("bass {:?}, chords {:?}", off[0], off[1]);
                if off.iter().all(|off| off.cents < 1.0 && off.ms < 1.0) {
                    return off.iter().for_each(|off| assert!(off.bars == 2 * BARS && off.wrong.is_empty(), "{off:?}"));
                }
            }
            too_busy();
        },
    );
}

/// Keys of the trade, one a chorus.
const KEYS: usize = 12;
/// The tempo of the trade, and how long two bars last.
const TRADED: u32 = 220;
const TWO_BARS: f64 = 8.0 * 60.0 / TRADED as f64;

/// The words of the trade: a phrase of two bars, answered over the next two, in each key.
fn trade(more: &[&str]) -> Vec<String> {
    let (keys, tempo) = (KEYS.to_string(), TRADED.to_string());
    let words = ["trade", "| Dm7 G7 | Cmaj7 |", "--key", "C", "--moves", "fourths", "--choruses", &keys, "--bars", "2"];
    let same = ["--concert", "--instrument", "flute", "--up-to", "2", "--seed", "3", "--tempo", &tempo];
    [&words[..], &same, more].concat().into_iter().map(str::to_owned).collect()
}

/// What a faultless player plays from the first beat of the lead-in on: each phrase once more over the next two bars.
fn answers(card: &Card) -> Vec<f32> {
    let wav = card.file("phrases.wav");
    let written = Command::new(env!("CARGO_BIN_EXE_earfirst"))
        .args(trade(&["--bass", "none", "--no-chords", "--pulse", "none", "--wav"]))
        .arg(&wav)
        .env("EARFIRST_DATA", card.file("data"))
        .stdout(Stdio::null())
        .status()
        .unwrap();
    assert!(written.success());
    let phrases = file(wav);
    // The lead-in is two bars as well; it is not the player's.
    let two_bars = (TWO_BARS * RATE) as usize;
    let mut own = vec![0.0; 2 * two_bars];
    own.extend(&phrases[two_bars..]);
    own
}

/// A file at 44.1 kHz, read at 48 kHz.
fn file(path: PathBuf) -> Vec<f32> {
    let wav = hound::WavReader::open(path).unwrap();
    let rate = f64::from(wav.spec().sample_rate);
    let samples: Vec<f32> = wav.into_samples::<f32>().map(Result::unwrap).collect();
    let between = |n: usize| {
        let place = n as f64 * rate / RATE;
        let (whole, part) = (place as usize, place.fract() as f32);
        let [one, other] = [0, 1].map(|by| samples.get(whole + by).copied().unwrap_or(0.0));
        one + part * (other - one)
    };
    (0..(samples.len() as f64 * RATE / rate) as usize).map(between).collect()
}

/// Waits until the lead-in comes out of the loudspeaker.
fn await_lead_in() {
    let mut monitor = Command::new("parec")
        .args(["--device=speaker.monitor", "--raw", "--format=s16le", "--rate=48000", "--channels=1"])
        .arg("--latency-msec=20")
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let (mut out, mut sample) = (monitor.stdout.take().unwrap(), [0; 2]);
    while i16::from_le_bytes(sample).abs() < 100 {
        out.read_exact(&mut sample).unwrap();
    }
    let _ = monitor.kill().and_then(|()| monitor.wait());
}

/// Processor time that a process took so far, in seconds, and the most memory it ever held, in kilobytes (proc(5); a tick is .01 s on
/// every Linux). `None` once it has ended.
fn taken(process: u32) -> Option<(f64, u64)> {
    let stat = std::fs::read_to_string(format!("/proc/{process}/stat")).ok()?;
    let ticks: Vec<f64> =
        stat.rsplit(')').next()?.split_whitespace().skip(11).take(2).filter_map(|n| n.parse().ok()).collect();
    let status = std::fs::read_to_string(format!("/proc/{process}/status")).ok()?;
    let most = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?.trim().trim_end_matches(" kB").parse();
    Some((0.01 * ticks.iter().sum::<f64>(), most.ok()?))
}

/// What came of a trade.
#[derive(Debug)]
struct Traded {
    answers: usize,
    right: u32,
    of: u32,
    extra: u32,
    /// Share of a core in the calmest three keys: the same work takes longer where other programs want the cores too.
    core: f64,
    most_kib: u64,
}

fn traded(card: &Card, own: &[f32]) -> Traded {
    let _room = card.play_on("speaker", "stillness", &stillness(80));
    let words = trade(&["--plain"]);
    let mut drill = Drill::run("traded", &words.iter().map(String::as_str).collect::<Vec<_>>());
    await_lead_in();
    let _player = card.play_on("speaker", "answers", own);
    let (begun, mut looks, mut most_kib, mut told) = (Instant::now(), Vec::new(), 0, String::new());
    while let Some((took, most)) = taken(drill.process()).filter(|_| begun.elapsed() < Duration::from_secs(90)) {
        looks.push((begun.elapsed().as_secs_f64(), took));
        most_kib = most.max(most_kib);
        while let Some(line) = drill.next_line(Duration::from_millis(250)) {
            told.push_str(&line);
            told.push('\n');
        }
        if told.contains("kept in") {
            break;
        }
    }
    assert!(told.contains("is over"), "{told}");
    println!("{told}");
    let three_keys = |from: &(f64, f64)| {
        let to = looks.iter().find(|to| to.0 - from.0 >= 6.0 * TWO_BARS)?;
        Some((to.1 - from.1) / (to.0 - from.0))
    };
    let core = looks.iter().filter_map(three_keys).fold(f64::INFINITY, f64::min);
    let found = read_sessions(&[drill.sessions()]);
    let session = found.sessions[0].session().unwrap();
    let verdicts = || session.traded.iter().filter_map(|turn| Some(&turn.judgement.as_ref()?.verdict));
    let [right, of, extra] = verdicts().fold([0; 3], |sum, it| [sum[0] + it.right, sum[1] + it.of, sum[2] + it.extra]);
    let answers = verdicts().count();
    let _ = drill.sessions().parent().map(std::fs::remove_dir_all);
    Traded { answers, right, of, extra, core, most_kib }
}

#[test]
fn phrases_are_traded_round_the_keys_while_the_microphone_hears_the_band() {
    if std::env::var_os("EARFIRST_LONGER").is_none() {
        return println!(
            "skipped: the virtual card gives the band back too late in one run of some; EARFIRST_LONGER=1 runs it"
        );
    }
    on_a_virtual_card("band::phrases_are_traded_round_the_keys_while_the_microphone_hears_the_band", |card: &Card| {
        // One sum of band and player, the band as loud as it leaves the loudspeaker.
        card.loop_on_one_clock();
        let own = answers(card);
        let well = |it: &Traded| f64::from(it.right) >= 0.92 * f64::from(it.of + it.extra);
        // On a busy machine sound gets lost, of the program's and of the player's: then once more.
        let mut tries = (0..2).map(|_| traded(card, &own)).inspect(|it| println!("{it:?}"));
        let came = tries.find(|it| well(it) && it.core < 0.15).expect("two trades: notes heard, share of a core");
        assert_eq!(came.answers, KEYS);
        assert!(came.most_kib < 100_000, "{came:?}");
    });
}
