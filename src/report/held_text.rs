use std::fmt::Write as _;

use crate::report::held_tone::{HeldTone, Vibrato};
use crate::report::tone_path::Leg;
use crate::units::Cents;
use crate::words::Page;
use crate::words::numbers::{numbered, signed};

/// A leg that moves by less than this, in cents, is steady.
const STEADY: f64 = 3.0;
/// A leg that lasts less than this, in seconds, is a step.
const STEP_S: f64 = 0.35;
/// A vibrato grows or dies away where one end goes so many times as far as the other, and farther by so many cents.
const GROWS: f64 = 2.0;
const FELT: f64 = 4.0;

/// A held tone in a sentence.
pub(super) fn held(tone: &HeldTone, page: &Page) -> String {
    let mut sentence = format!("held {:.1} s: {}", tone.length.0, page.heard(tone.centre));
    let legs: Vec<Leg> = tone.legs.iter().flatten().copied().collect();
    let straight = legs.len() < 2;
    // A tone that moves in several legs has no centre worth a word.
    if straight {
        let _ = write!(sentence, ", centre {} cents", signed(tone.centre.cents_off()));
    }
    let side = |cents: Cents| if cents.0 < 0.0 { "flat" } else { "sharp" };
    if let Some(begins) = tone.begins {
        let (by, lasting) = (begins.by, begins.lasting.0);
        let _ = write!(sentence, "; begins {:.0} {} and is there after {lasting:.1} s", by.abs().0, side(by));
    }
    let _ = match signed(tone.drift).as_str() {
        _ if !straight => {
            // Both ends are told against the name that the sentence gives the tone.
            let from = 100.0 * (tone.from.0 - f64::from(tone.centre.nearest()));
            let (from, until) = (signed(Cents(from)), signed(Cents(from + tone.drift.0)));
            write!(sentence, "; from {from} to {until} cents: {}", legs_words(&legs))
        }
        "0" => write!(sentence, "; no drift"),
        _ => {
            let goes = if tone.drift.0 < 0.0 { "sinks" } else { "rises" };
            write!(sentence, "; {goes} by {:.0} from beginning to end", tone.drift.0.abs())
        }
    };
    if let Some(swell) = tone.swell {
        let goes = if swell.by.0 < 0.0 { "falls" } else { "rises" };
        let (by, at, lasting) = (swell.by.0.abs(), swell.at.0, swell.lasting.0);
        let _ = write!(sentence, "; {goes} by {by:.0} at {at:.1} s and comes back, {lasting:.1} s in all");
    }
    if let Some(ends) = tone.ends {
        let goes = if ends.by.0 < 0.0 { "sags" } else { "rises" };
        let _ = write!(sentence, "; {goes} by {:.0} in its last {:.1} s", ends.by.abs().0, ends.lasting.0);
    }
    let _ = match tone.vibrato {
        Some(vibrato) => {
            write!(sentence, "; vibrato of {:.1} turns a second, {}", vibrato.rate.0, either_way(vibrato))
        }
        None if tone.wave.is_some() => {
            let (rate, extent) = tone.wave.map_or((0.0, 0.0), |wave| (wave.rate.0, wave.extent.0));
            write!(sentence, "; a slow wave, {rate:.1} turns a second, {extent:.0} cents either way: no vibrato")
        }
        None if tone.spread.0.round() >= 2.0 && tone.swell.is_none() => {
            write!(sentence, "; no vibrato, wavering by {}", numbered(tone.spread.0.round() as usize, "cent"))
        }
        None if straight
            && signed(tone.drift) == "0"
            && tone.begins.or(tone.ends).is_none()
            && tone.swell.is_none() =>
        {
            write!(sentence, "; no vibrato, quite steady")
        }
        None => write!(sentence, "; no vibrato"),
    };
    sentence
}

/// How far a vibrato goes: that it grows or dies away is told.
fn either_way(vibrato: Vibrato) -> String {
    let (first, last) = (vibrato.thirds.0.0, vibrato.thirds.1.0);
    if first.max(last) < GROWS * first.min(last) + FELT {
        return format!("{:.0} cents either way", vibrato.extent.0);
    }
    let grows = if last > first { "growing" } else { "dying away" };
    format!("{grows} from {first:.0} to {last:.0} cents either way")
}

/// The way of a tone in words: "steady for 4.0 s, then sinks by 50 in 2.0 s", "steady for 3.0 s, then falls at once by 30 and stays there".
fn legs_words(legs: &[Leg]) -> String {
    let mut said = String::new();
    for (n, leg) in legs.iter().enumerate() {
        let (by, lasting) = (leg.by.0.abs(), leg.lasting.0);
        let then = if n == 0 { "" } else { ", then " };
        let _ = match (by.round() < STEADY, leg.by.0 < 0.0) {
            (true, _) if n > 1 => write!(said, " and stays there"),
            (true, _) => write!(said, "{then}steady for {lasting:.1} s"),
            (false, true) if lasting < STEP_S => write!(said, "{then}falls at once by {by:.0}"),
            (false, false) if lasting < STEP_S => write!(said, "{then}rises at once by {by:.0}"),
            (false, true) => write!(said, "{then}sinks by {by:.0} in {lasting:.1} s"),
            (false, false) => write!(said, "{then}rises by {by:.0} in {lasting:.1} s"),
        };
    }
    said
}
