//! From looks to notes: where one begins, changes, comes again and ends, and when it is told.
//!
//! At most one note is open. Every hop either continues it, corrects it (its first pitch was wrong), splits it (a slur), starts
//! it again (the same pitch, attacked anew) or closes it. Onsets are dated back to where the sound itself began.

mod centre;
mod faint;
mod glide;
mod onset;
mod open;
mod opening;
mod repeat;
mod split;
mod telling;

use super::background::Background;
use super::bands::Bands;
use super::clock::Clock;
use super::heard::Told;
use super::look::{Look, Looks};
use super::opinion::Opinion;
use super::rules::Rules;
use crate::units::{Hertz, Midi};
use open::OpenNote;

/// What the segmenter may ask of the sound itself.
#[derive(Clone, Copy)]
pub(super) struct Sound<'a> {
    pub(super) bands: &'a Bands,
    pub(super) background: &'a Background,
}

/// The open note and what is needed to decide about it.
#[derive(Debug)]
pub(super) struct Segmenter {
    clock: Clock,
    rules: Rules,
    a4: Hertz,
    looks: Looks,
    open: Option<OpenNote>,
    spare: Option<OpenNote>,
    opinion: Opinion,
    run: opening::Run,
    numbers: u32,
    /// Where the last note was let go; no onset is dated back before it.
    let_go: i64,
    /// Its pitch, half steps above A4 = 440 Hz.
    let_go_pitch: f64,
    /// Lowest level since then, dB.
    lowest_db: f64,
    /// Loudest level of that note, dB.
    loudest_db: f64,
}

impl Segmenter {
    pub(super) fn new(clock: Clock, rules: &Rules, a4: Hertz) -> Self {
        Self {
            clock,
            rules: *rules,
            a4,
            looks: Looks::new(),
            open: None,
            spare: Some(OpenNote::new()),
            opinion: Opinion::new(),
            run: opening::Run::default(),
            numbers: 0,
            let_go: i64::MIN / 2,
            let_go_pitch: f64::INFINITY,
            lowest_db: -200.0,
            loudest_db: -200.0,
        }
    }

    /// The pitch of the open note, half steps above A4 = 440 Hz.
    pub(super) fn sounding(&self) -> Option<f64> {
        self.open.as_ref().map(|note| note.reference)
    }

    /// Takes one look further.
    pub(super) fn step(&mut self, look: Look, sound: Sound<'_>, tell: &mut dyn FnMut(&Told)) {
        self.run.add(&look, self.looks.ago(0), &self.rules);
        self.looks.push(look);
        if self.open.is_none() {
            self.lowest_db = self.lowest_db.min(look.steady_db);
            self.try_open(&look, sound);
        } else if !self.try_split(&look, sound, tell) && !self.try_repeat(&look, sound, tell) {
            self.go_on(&look);
        }
        self.date_again(&look, sound, tell);
        self.try_tell(&look, tell);
        self.try_close(&look, sound, tell);
    }

    /// The stream is over: what sounds ends here.
    pub(super) fn finish(&mut self, sound: Sound<'_>, tell: &mut dyn FnMut(&Told)) {
        self.close(sound.bands.all().end(), sound, tell);
    }

    fn go_on(&mut self, look: &Look) {
        let reach = self.open.as_ref().map_or(0.0, |note| self.own_reach(note, look));
        let Some(note) = self.open.as_mut() else { return };
        note.loudest_db = note.loudest_db.max(look.steady_db);
        if !look.voiced {
            return;
        }
        let away = look.semitone() - note.reference;
        if away.abs() < reach {
            note.last_voiced = look.end;
            let share = if note.settled { self.rules.follow_settled } else { self.rules.follow_fresh };
            note.reference += share * away;
            note.hear(look);
            let calm = away.abs() < 0.01 * self.rules.settle_cents && look.best.clarity > self.rules.settle_clarity;
            note.near = if calm { note.near + 1 } else { 0 };
            note.settled |= note.near as f64 >= self.rules.settle_frames;
        }
    }

    fn try_close(&mut self, look: &Look, sound: Sound<'_>, tell: &mut dyn FnMut(&Told)) {
        let Some(note) = self.open.as_ref() else { return };
        let period = self.clock.period(note.reference);
        let span = (period.round() as i64).max(self.clock.ms(4.0));
        let fallen = look.steady_db < note.loudest_db - self.rules.release_fall;
        let patience = self.clock.ms(self.rules.release_unvoiced_ms) + (2.0 * period) as i64;
        let silent = look.end - note.last_voiced > patience;
        if fallen {
            self.close(look.end - span / 2, sound, tell);
        } else if silent {
            let release = note.last_voiced;
            self.close(release, sound, tell);
        }
    }

    /// Ends the open note at `release`.
    fn close(&mut self, release: i64, sound: Sound<'_>, tell: &mut dyn FnMut(&Told)) {
        let Some(mut note) = self.open.take() else { return };
        note.release = Some(release.max(note.onset + 1));
        self.say_ended(&mut note, sound, tell);
        self.let_go = note.release.unwrap_or(release);
        self.lowest_db = self.looks.ago(0).map_or(-200.0, |look| look.steady_db);
        self.let_go_pitch = note.reference;
        self.loudest_db = note.loudest_db;
        self.run = opening::Run::default();
        self.spare = Some(note);
    }

    /// Opens a note; the memory of the one before is used again, so that nothing is allocated.
    fn begin(&mut self, onset: i64, look: &Look, pitch: f64) -> &mut OpenNote {
        let mut note = self.spare.take().or_else(|| self.open.take()).unwrap_or_else(OpenNote::new);
        note.restart(self.numbers, onset, look, pitch);
        self.numbers += 1;
        self.open.insert(note)
    }

    /// The newest looks, so many, were the open note's before it was known: those near its pitch, for it may have begun with
    /// the noise of a hammer or a tongue.
    fn remember(&mut self, count: usize) {
        let reach = 0.01 * self.rules.remember_cents;
        let Some(note) = self.open.as_mut() else { return };
        let pitch = note.reference;
        let own = |look: &&Look| look.voiced && (look.semitone() - pitch).abs() < reach;
        for look in (0..count).rev().filter_map(|hops| self.looks.ago(hops)).filter(own) {
            note.keep(look);
        }
    }

    fn midi(&self, semitone: f64) -> Midi {
        Clock::hertz(semitone).midi(self.a4)
    }
}
