//! `charts sound`: a soft band plays a chart, on the loudspeaker or into a WAV file.

use crate::backing::{BackingBand, BandWish};
use crate::chart::Chorus;
use crate::cli::args::charts::ChartSound;
use crate::cli::charts::band;
use crate::coach::Rng;
use crate::files::{Places, UserSettings, write_wav};
use crate::sound::Clip;
use crate::talk::failure::Failure;
use crate::talk::loudspeaker;
use crate::talk::named_charts;
use crate::talk::output::say;
use crate::talk::player::Who;
use crate::units::{SampleRate, Tempo};

/// Longest sound of a chart, in minutes: it is made whole before it sounds, so its memory has a limit.
const MOST_MINUTES: f64 = 10.0;

/// Sounds the chart that was typed.
pub fn run(typed: &ChartSound) -> Result<(), Failure> {
    let form = named_charts::chart(&typed.chart)?;
    let settings = UserSettings::load(&Places::usual()?)?;
    let who = Who::of(&typed.player, &settings)?;
    let tempo = band::tempo(typed.tempo, &form)?;
    let first = band::first_key(typed.key.as_deref(), &form, &who)?;
    let keys = band::moves(typed.moves, first);
    let forms: Vec<Chorus> = keys.iter().map(|key| form.in_key(key.0, who.page.reading.g_flat).chorus()).collect();
    let wish = band::wish(&typed.parts, Tempo(tempo), form.swing, who.a4)?;
    let wish = |rate| BandWish { choruses: Some(typed.choruses), rate, ..wish };
    let beats: u32 = forms.iter().cycle().take(typed.choruses as usize).map(Chorus::beats).sum();
    if f64::from(beats) / tempo > MOST_MINUTES {
        let what = format!("that lasts {:.0} minutes", f64::from(beats) / tempo);
        return Err(Failure::usage(what, format!("Ask for fewer --choruses: {MOST_MINUTES} minutes at most.")));
    }
    let mut rng = Rng::new(typed.seed);
    let made = |rate| {
        BackingBand::new(forms, &wish(rate), move || rng.uniform())
            .ok_or_else(|| Failure::usage("the chart has no bar to play", "earfirst charts check tells why."))
    };
    match &typed.wav {
        Some(wav) => {
            let clip = made(SampleRate::CD)?.whole();
            write_wav(wav, &clip)?;
            let (name, length, peak) = (wav.display(), clip.length().0, clip.peak().0);
            say(format!(
                "{name}: {} at quarter = {tempo:.0}, {length:.1} s, peaks at {peak:.1} dB of full scale",
                form.name
            ))
        }
        None => play(made, &settings),
    }
}

/// Plays a band on the loudspeaker.
fn play<D: FnMut() -> f64>(
    band: impl FnOnce(SampleRate) -> Result<BackingBand<D>, Failure>,
    settings: &UserSettings,
) -> Result<(), Failure> {
    let mut refused = None;
    let rendered = |rate| match band(rate) {
        Ok(band) => band.whole(),
        Err(failure) => {
            refused = Some(failure);
            Clip { rate, samples: Vec::new() }
        }
    };
    let played = loudspeaker::play(settings, "--wav OUT needs no loudspeaker.", rendered);
    refused.map_or(played, Err)
}
