//! `charts sound`: a soft band plays a chart, on the loudspeaker or into a WAV file.

use crate::backing::{BackingBand, BandWish, BassLine, CEILING, TEMPOS, TimeKeeping};
use crate::chart::Chorus;
use crate::cli::args::charts::{BassChoice, ChartSound, KeyMoves, PulseChoice};
use crate::coach::Rng;
use crate::engine::{self, DeviceAudio};
use crate::files::{Places, UserSettings, write_wav};
use crate::music::{ConcertKey, PitchClass, WrittenKey};
use crate::pattern::Cycle;
use crate::sound::Clip;
use crate::talk::chosen_devices::loudspeaker;
use crate::talk::failure::Failure;
use crate::talk::named_charts;
use crate::talk::output::say;
use crate::talk::player::Who;
use crate::units::{Decibels, SampleRate, Tempo};

/// It is made whole before it sounds, so it may not last for ever, in minutes.
const MOST_MINUTES: f64 = 10.0;

/// Sounds it.
pub fn run(typed: &ChartSound) -> Result<(), Failure> {
    let form = named_charts::chart(&typed.chart)?;
    let settings = UserSettings::load(&Places::usual()?)?;
    let who = Who::of(&typed.player, &settings)?;
    let tempo = typed.tempo.unwrap_or(form.tempo.0);
    if !TEMPOS.contains(&tempo) {
        let reach = format!("Give {} to {} quarter notes a minute.", TEMPOS.start(), TEMPOS.end());
        return Err(Failure::usage(format!("quarter = {tempo} is out of the band's reach"), reach));
    }
    let level = typed.level.unwrap_or(usual(tempo, SampleRate::CD).level.0);
    if !(-60.0..=CEILING.0).contains(&level) {
        let what = format!("{level} dB is out of reach");
        return Err(Failure::usage(what, format!("Give -60 to {}: a band is soft.", CEILING.0)));
    }
    let first = match &typed.key {
        Some(key) => who.key(key)?,
        None => {
            let home = form.chart.home().map_or(named_charts::C, |home| home.class());
            who.page.sounding_key(WrittenKey(home))
        }
    };
    let keys = moves(typed.moves, first);
    let forms: Vec<Chorus> = keys.iter().map(|key| form.in_key(key.0, who.page.reading.g_flat).chorus()).collect();
    let swing = form.swing && !typed.even;
    let wish = |rate| wish(typed, BandWish { swing, level: Decibels(level), a4: who.a4, ..usual(tempo, rate) });
    let beats: u32 = forms.iter().cycle().take(typed.choruses as usize).map(Chorus::beats).sum();
    if f64::from(beats) / tempo > MOST_MINUTES {
        let what = format!("that lasts {:.0} minutes", f64::from(beats) / tempo);
        return Err(Failure::usage(what, format!("Ask for fewer --choruses: {MOST_MINUTES} minutes at most.")));
    }
    let mut rng = Rng::new(typed.seed);
    let band = |rate| {
        BackingBand::new(forms, &wish(rate), move || rng.uniform())
            .ok_or_else(|| Failure::usage("the chart has no bar to play", "earfirst charts check tells why."))
    };
    match &typed.wav {
        Some(wav) => {
            let clip = whole(band(SampleRate::CD)?, SampleRate::CD);
            write_wav(wav, &clip)?;
            let (name, length, peak) = (wav.display(), clip.length().0, clip.peak().0);
            say(format!(
                "{name}: {} at quarter = {tempo:.0}, {length:.1} s, peaks at {peak:.1} dB of full scale",
                form.name
            ))
        }
        None => play(band, &settings),
    }
}

const fn usual(tempo: f64, rate: SampleRate) -> BandWish {
    BandWish::new(Tempo(tempo), rate)
}

/// The parts that were asked for.
fn wish(typed: &ChartSound, usual: BandWish) -> BandWish {
    BandWish {
        bass: match typed.bass {
            BassChoice::Walking => Some(BassLine::Walking),
            BassChoice::RootAndFifth => Some(BassLine::RootAndFifth),
            BassChoice::None => None,
        },
        chords: !typed.no_chords,
        pulse: match typed.pulse {
            PulseChoice::Brush => Some(TimeKeeping::Brush),
            PulseChoice::Click => Some(TimeKeeping::Click),
            PulseChoice::None => None,
        },
        choruses: Some(typed.choruses),
        ..usual
    }
}

/// The keys of one chorus after another.
fn moves(typed: KeyMoves, first: ConcertKey) -> Vec<ConcertKey> {
    let cycle = match typed {
        KeyMoves::Stay => return vec![first],
        KeyMoves::Fourths => Cycle::Fifths,
        KeyMoves::HalfSteps => Cycle::HalfSteps,
        KeyMoves::WholeSteps => Cycle::WholeSteps,
        KeyMoves::MinorThirds => return (0..4).map(|n| ConcertKey(PitchClass::new(first.0.get() + 3 * n))).collect(),
    };
    // None of these is shuffled, so nothing is drawn.
    cycle.keys(first, |_| 0).to_vec()
}

/// All that a band plays.
fn whole(mut band: BackingBand<impl FnMut() -> f64>, rate: SampleRate) -> Clip {
    let mut clip = Clip { rate, samples: vec![0.0; band.length().unwrap_or(0) as usize] };
    band.read(&mut clip.samples);
    clip
}

/// Plays it.
fn play<D: FnMut() -> f64>(
    band: impl FnOnce(SampleRate) -> Result<BackingBand<D>, Failure>,
    settings: &UserSettings,
) -> Result<(), Failure> {
    let gone = |why: &dyn std::fmt::Display| {
        Failure::device(why, "earfirst devices lists what is there; --wav OUT needs no loudspeaker.")
    };
    let _quiet = engine::quiet();
    let mut audio = DeviceAudio::open(&loudspeaker(settings)).map_err(|failure| gone(&failure))?;
    let mut refused = None;
    let rendered = |rate| match band(rate) {
        Ok(band) => whole(band, rate),
        Err(failure) => {
            refused = Some(failure);
            Clip { rate, samples: Vec::new() }
        }
    };
    let played = audio.play_to_end(rendered).map_err(|why| gone(&why));
    refused.map_or(played, Err)
}
