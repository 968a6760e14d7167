use std::sync::Arc;

use crate::backing::{BackingBand, BandWish};
use crate::cue::{self, Cue, CueSound, Rendering, Timing};
use crate::sound::Clip;
use crate::trade::plan::Trade;
use crate::units::Seconds;

/// Version of band and phrases as they sound. It rises when the same form, wish, phrases and draws may give another sound: then what was
/// recorded before can no longer be taken out of a microphone's sound.
pub const SOUND_VERSION: u32 = 1;

/// Band and phrases as one sound, from the first beat of the lead-in to the end. `wish` says how the band plays, whatever
/// number of choruses it names; `draw` is its generator. `None` where the form has nothing to play.
#[must_use]
pub fn sound<D: FnMut() -> f64>(trade: &Trade, wish: &BandWish, draw: D) -> Option<CueSound> {
    let forms: Vec<_> = trade.forms.iter().skip(trade.from).cloned().collect();
    let choruses = Some(forms.len() as u32);
    let wish = BandWish { tempo: trade.tempo, choruses, ..*wish };
    let mut band = BackingBand::new(forms, &wish, draw)?;
    let mut clip = Clip { rate: wish.rate, samples: vec![0.0; band.length()? as usize] };
    band.read(&mut clip.samples);
    let rendering = Rendering { a4: wish.a4, ..Rendering::new(wish.rate) };
    for exchange in trade.exchanges() {
        let free = Cue { timing: Timing::Free, line: exchange.lead.clone(), ..exchange.cue.clone() };
        let phrase = cue::sound(&free, &rendering).clip;
        clip.mix(band.beat(exchange.sounded.0).0 as usize, &phrase.samples);
    }
    let end = clip.length();
    let clip = Arc::new(clip);
    let (beats, clicks, notes) = (Vec::new(), Vec::new(), Vec::new());
    Some(CueSound { clip, end, beat_zero: None::<Seconds>, beats, clicks, notes })
}
