//! Free choruses of a sitting taken apart: at its end, and later from its record.

use std::path::{Path, PathBuf};

use crate::chart::ChordChart;
use crate::files;
use crate::free::{FreeLine, FreeParts, NoLine, OverForm, PlacedForm};
use crate::music::{self, Mode};
use crate::notes::HeardNote;
use crate::pattern::Pattern;
use crate::report::{self, ChorusPicture};
use crate::session::{ChorusRecord, Session};
use crate::talk::failure::{Failure, clean};
use crate::talk::free_views::{FreeAnalysis, Sought, write_page};
use crate::talk::named_charts;
use crate::talk::output::{say, warn};
use crate::talk::player::Who;
use crate::units::{Seconds, Tempo};
use crate::words::Page;
use crate::words::free::{self, FormKey, FreeLayout, PlacesBy};
use crate::words::numbers::{capital, counted};

/// The free choruses of a sitting, with the form they were played over.
pub struct FreeChoruses {
    chart: String,
    form: ChordChart,
    instrument: String,
    delay: Seconds,
    /// Whether the ear heard them; else keys told them.
    by_ear: bool,
    choruses: Vec<ChorusRecord>,
    /// Of several sittings how many there are, and the file of this one.
    latest_of: Option<(usize, PathBuf)>,
}

/// A line over its form.
type LineOver = (FreeLine, (PlacedForm, FormKey));

/// Whether a path names sittings: a session file, its record alone, or a folder of them.
pub fn names_sittings(path: &Path) -> bool {
    path.is_dir() || path.extension().is_some_and(|end| end == "zip" || end == "jsonl")
}

impl FreeChoruses {
    /// No chorus yet, over a form in letters; `chart` is its name, or its chords as they were typed.
    pub fn over(chart: &str, form: ChordChart, delay: Option<Seconds>, by_ear: bool) -> Self {
        let (chart, delay) = (chart.to_owned(), delay.unwrap_or(Seconds(0.0)));
        Self { chart, form, instrument: String::new(), delay, by_ear, choruses: Vec::new(), latest_of: None }
    }

    /// The latest sitting with free choruses among those of a path.
    pub fn open(path: &Path) -> Result<Self, Failure> {
        let mut found = files::survey(&[path.to_owned()]);
        found.listed.retain(|it| it.began.trade.as_ref().is_some_and(|trade| trade.free.is_some()));
        found.listed.sort_by(|one, other| one.began.started.cmp(&other.began.started));
        let Some(latest) = found.listed.pop() else {
            return Err(match found.failures.into_iter().next() {
                Some(failure) => failure.into(),
                None => none_there(path),
            });
        };
        let stored = latest.read()?;
        if let Some(damage) = &stored.damage {
            warn(format!("{}: {damage}", clean(&latest.path.display().to_string())));
        }
        let all = Session::of(stored.events).as_ref().and_then(Self::of).ok_or_else(|| none_there(path))?;
        let latest_of = (found.listed.len() + 1, latest.path);
        Ok(Self { latest_of: Some(latest_of).filter(|(sittings, _)| *sittings > 1), ..all })
    }

    /// The choruses of a record; `None` where it has none, or its form cannot be read.
    fn of(session: &Session) -> Option<Self> {
        let began = &session.began;
        let trade = began.trade.as_ref()?;
        let first = session.choruses.first()?;
        let by_name = || Some(named_charts::chart(&trade.chart).ok()?.in_key(first.key.0, false));
        let form = ChordChart::parse(trade.free.as_deref()?).ok().or_else(by_name)?;
        let mut all = Self::over(&trade.chart, form, began.delay, !began.by_midi);
        all.instrument.clone_from(&began.instrument);
        all.choruses.extend(session.choruses.iter().filter(|chorus| !chorus.heard.is_empty()).cloned());
        (!all.choruses.is_empty()).then_some(all)
    }

    /// Id of the instrument on which they were played.
    pub fn instrument(&self) -> &str {
        &self.instrument
    }

    /// Whether nothing was played.
    pub const fn is_empty(&self) -> bool {
        self.choruses.is_empty()
    }

    /// Adds a chorus that is over; gives what is said of it while the band plays on.
    pub fn add(&mut self, chorus: ChorusRecord, who: &Who) -> Vec<String> {
        let title = self.title(&chorus, &who.page);
        let said = match self.line(&chorus) {
            Ok((line, (form, home))) => free::chorus(
                &title,
                &line,
                &FreeParts::of(&line),
                (&form, &OverForm::of(&line, &form)),
                home,
                &who.page,
            ),
            Err(why) => vec![format!("{title}: {why}.")],
        };
        self.choruses.push(chorus);
        said
    }

    fn mode(&self) -> Mode {
        if self.form.is_minor() { Mode::Minor } else { Mode::Major }
    }

    /// The name of a chorus: "chorus 2 in Eb".
    fn title(&self, chorus: &ChorusRecord, page: &Page) -> String {
        format!("chorus {} in {}", chorus.chorus, page.key(chorus.key, self.mode()))
    }

    /// The notes of a chorus as a line over its form. Bar 1 begins at 0 s.
    fn line(&self, chorus: &ChorusRecord) -> Result<LineOver, NoLine> {
        let form = self.form.in_key(self.form.tonality(chorus.key.0, false).tonic).chorus();
        let tempo = Tempo(60.0 * f64::from(form.beats()) / (chorus.ends - chorus.begins).0);
        let line = FreeLine::heard(&later(&chorus.heard, chorus.begins + self.delay), Some(tempo))?;
        let line = FreeLine { by_ear: self.by_ear, ..line };
        let home = FormKey { key: chorus.key, mode: self.mode() };
        Ok((line, (PlacedForm::at(form, Seconds(0.0), tempo), home)))
    }

    /// The chorus with this number, or the only one.
    fn one(&self, number: Option<u32>) -> Result<&ChorusRecord, Failure> {
        let there = format!(
            "The sitting has {}: add --chorus 1, or another of them.",
            counted(self.choruses.len(), "free chorus")
        );
        match (number, &self.choruses[..]) {
            (None, [only]) => Ok(only),
            (None, _) => Err(Failure::usage("which chorus is meant?", there)),
            (Some(number), all) => all
                .iter()
                .find(|chorus| chorus.chorus == number)
                .ok_or_else(|| Failure::usage(format!("there is no free chorus {number}"), there)),
        }
    }

    /// One chorus taken apart, for a score or to keep a line of it.
    pub fn analysis<'l>(
        &self,
        number: Option<u32>,
        sought: &Sought,
        looked: &'l [&'l Pattern],
        who: &Who,
    ) -> Result<FreeAnalysis<'l>, Failure> {
        let chorus = self.one(number)?;
        let none = |why: NoLine| Failure::input(self.title(chorus, &who.page), why, "Name another one with --chorus.");
        let (line, form) = self.line(chorus).map_err(none)?;
        Ok(FreeAnalysis::of(line, Some(form), sought, looked))
    }

    /// Tells what was found in one chorus, or in each of them and in all together.
    pub fn tell(&self, number: Option<u32>, sought: &Sought, who: &Who) -> Result<(), Failure> {
        let looked = sought.patterns();
        let meant = self.meant(number)?;
        if let Some((sittings, path)) = &self.latest_of {
            let path = clean(&path.display().to_string());
            say(format!("the latest of {} with free choruses: {path}", counted(*sittings, "sitting")))?;
        }
        for chorus in &meant {
            say(format!("{} of {}, taken apart:", self.title(chorus, &who.page), self.chart))?;
            match self.line(chorus) {
                Ok((line, form)) => FreeAnalysis::of(line, Some(form), sought, &looked).tell(who)?,
                Err(why) => say(why)?,
            }
            say("")?;
        }
        self.tell_together(&meant, sought, who)
    }

    /// Tells which patterns and habits came in several choruses together, where a habit shows that came once in each.
    fn tell_together(&self, choruses: &[&ChorusRecord], sought: &Sought, who: &Who) -> Result<(), Failure> {
        let [first, _, ..] = choruses else { return Ok(()) };
        let heard: Vec<HeardNote> = choruses.iter().flat_map(|chorus| chorus.heard.iter().copied()).collect();
        let Ok((_, (form, _))) = self.line(first) else { return Ok(()) };
        let Ok(line) = FreeLine::heard(&later(&heard, first.begins + self.delay), Some(form.tempo)) else {
            return Ok(());
        };
        let placed = |chorus: &&ChorusRecord| {
            let later = PlacedForm { begins: chorus.begins - first.begins, ..form.clone() };
            (chorus.chorus, later)
        };
        let placed: Vec<(u32, PlacedForm)> = choruses.iter().map(placed).collect();
        let looked = sought.patterns();
        let all = FreeAnalysis::of(line, None, sought, &looked);
        say(format!("In {} together:", counted(choruses.len(), "free chorus")))?;
        let layout = FreeLayout { places: PlacesBy::Choruses(&placed), columns: free::COLUMNS };
        free::vocabulary(&all.line, &all.found, layout, &who.page).into_iter().try_for_each(say)
    }

    /// The pictures of these choruses; one that is no line has none.
    fn pictures(&self, choruses: &[&ChorusRecord], sought: &Sought, page: &Page) -> Vec<ChorusPicture> {
        let looked = sought.patterns();
        let one = |chorus: &&ChorusRecord| {
            let (line, form) = self.line(chorus).ok()?;
            let title = format!("{} of {}", capital(&self.title(chorus, page)), self.chart);
            Some(FreeAnalysis::of(line, Some(form), sought, &looked).picture(title, page))
        };
        choruses.iter().filter_map(one).collect()
    }

    /// The pictures of the free choruses of a sitting.
    pub fn pictures_of(session: &Session) -> Result<Vec<ChorusPicture>, Failure> {
        let (Some(all), Ok(instrument)) = (Self::of(session), music::instrument(&session.began.instrument)) else {
            return Ok(Vec::new());
        };
        let page = Page::new(instrument.clone(), session.began.reading);
        Ok(all.pictures(&all.meant(None)?, &Sought::named(&[])?, &page))
    }

    /// Writes the page of one chorus, or of all of them.
    pub fn write_page(&self, to: &Path, number: Option<u32>, sought: &Sought, who: &Who) -> Result<(), Failure> {
        let pictures = self.pictures(&self.meant(number)?, sought, &who.page);
        write_page(to, &format!("{}, {}", self.chart, who.page.instrument.name), &pictures)
    }

    /// Says all that was found for machines: one object for each chorus.
    pub fn say_json(&self, number: Option<u32>, sought: &Sought) -> Result<(), Failure> {
        let looked = sought.patterns();
        let told = |chorus: &ChorusRecord| {
            let line = self.line(chorus);
            let told = line.map(|(line, form)| FreeAnalysis::of(line, Some(form), sought, &looked).json());
            (chorus.chorus, chorus.key, told)
        };
        say(report::choruses_json(&self.chart, self.meant(number)?.into_iter().map(told).collect()))
    }

    /// The chorus with this number, or all of them.
    fn meant(&self, number: Option<u32>) -> Result<Vec<&ChorusRecord>, Failure> {
        match number {
            Some(_) => Ok(vec![self.one(number)?]),
            None => Ok(self.choruses.iter().collect()),
        }
    }
}

/// The notes with `zero` as the new instant 0.
fn later(heard: &[HeardNote], zero: Seconds) -> Vec<HeardNote> {
    let moved = |note: &HeardNote| HeardNote {
        onset: note.onset - zero,
        release: note.release - zero,
        announced: note.announced - zero,
        ..*note
    };
    heard.iter().map(moved).collect()
}

fn none_there(path: &Path) -> Failure {
    let mend = "earfirst trade blues --free records some; a recording is analysed as WAV, FLAC, MP3, MIDI or MusicXML.";
    Failure::input(path.display(), "no free chorus is in it", mend)
}
