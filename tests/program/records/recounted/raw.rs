//! Figures counted from the lines of records on the disk, as `src/report/mod.rs` ("Figures") defines them. No type and no function of
//! the program is used here.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::{Value, json};

/// The record of one sitting.
pub struct RawSitting {
    pub head: Value,
    lines: Vec<Value>,
    pub turns: Vec<RawTurn>,
}

/// One cue that sounded, with the latest answer and verdict of it.
#[derive(Clone)]
pub struct RawTurn {
    /// The index of its sitting among those that are counted together.
    pub sitting: usize,
    pub day: i64,
    pub rate: f64,
    pub cue: Value,
    pub answer: Option<Value>,
    pub judged: Option<Value>,
    pub contested: bool,
}

pub fn int(value: &Value) -> i64 {
    value.as_i64().unwrap_or_else(|| panic!("no whole number: {value}"))
}

pub fn num(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("no number: {value}"))
}

pub fn median(values: &[f64]) -> Option<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(|a, b| a.partial_cmp(b).unwrap());
    let n = sorted.len();
    (n > 0).then(|| if n % 2 == 1 { sorted[n / 2] } else { 0.5 * (sorted[n / 2 - 1] + sorted[n / 2]) })
}

pub fn spread(values: &[f64]) -> Option<f64> {
    let middle = median(values)?;
    median(&values.iter().map(|value| (value - middle).abs()).collect::<Vec<_>>())
}

impl RawSitting {
    pub fn read(text: &str) -> Self {
        let lines: Vec<Value> = text.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
        let (head, mut turns): (Value, Vec<RawTurn>) = (lines[0].clone(), Vec::new());
        for line in &lines[1..] {
            if line["event"] == "cued" {
                let (day, rate, cue) = (int(&head["day"]), num(&head["sound_rate_hz"]), line.clone());
                turns.push(RawTurn { sitting: 0, day, rate, cue, answer: None, judged: None, contested: false });
            }
            let Some(turn) = turns.iter_mut().rev().find(|turn| turn.cue["cue"] == line["cue"]) else { continue };
            match line["event"].as_str().unwrap() {
                "answered" => turn.answer = Some(line.clone()),
                "judged" => turn.judged = Some(line.clone()),
                "contested" => turn.contested = true,
                _ => {}
            }
        }
        Self { head, lines, turns }
    }

    /// How long the sitting lasted, in seconds: up to its last event.
    pub fn lasted(&self) -> f64 {
        self.lines[1..].iter().map(|line| num(&line["at_s"])).fold(0.0, f64::max)
    }

    pub fn ended(&self) -> Option<&Value> {
        self.lines.iter().find(|line| line["event"] == "ended")
    }

    pub fn sounding(&self) -> f64 {
        let heard =
            self.turns.iter().filter_map(|turn| turn.answer.as_ref()).flat_map(|it| it["heard"].as_array().unwrap());
        let length = |note: &Value| (num(&note["release_s"]) - num(&note["onset_s"])).max(0.0);
        self.ended().map_or_else(|| heard.map(length).sum(), |ended| num(&ended["sounding_s"]))
    }

    /// How many rests there were, and how many seconds they lasted together.
    pub fn rests(&self) -> (usize, f64) {
        let mut rests: Vec<f64> = Vec::new();
        let mut since: Option<f64> = None;
        for line in &self.lines {
            match line["event"].as_str().unwrap() {
                "paused" if line["cause"] == "rest" => since = Some(num(&line["at_s"])),
                "resumed" => rests.extend(since.take().map(|since| num(&line["at_s"]) - since)),
                _ => {}
            }
        }
        rests.extend(since.map(|since| self.lasted() - since));
        (rests.len(), rests.iter().sum())
    }

    /// The number of cues that were answered, of those that were left silent, and of those that are neither silent nor judged. A cue that
    /// sounded once more counts as one cue.
    pub fn answered(&self) -> [usize; 3] {
        let mut cues: Vec<Vec<&RawTurn>> = Vec::new();
        for turn in self.turns.iter().filter(|turn| turn.chosen()) {
            match cues.last_mut().filter(|_| turn.cue["repeat"] == true) {
                Some(same) => same.push(turn),
                None => cues.push(vec![turn]),
            }
        }
        let sounded = |cue: &Vec<&RawTurn>| cue.iter().any(|turn| turn.sounded());
        let silent = |cue: &Vec<&RawTurn>| !sounded(cue) && cue.iter().any(|turn| turn.answer.is_some());
        let judged = |cue: &Vec<&RawTurn>| cue.iter().any(|turn| turn.judged.is_some());
        let many = |is: &dyn Fn(&Vec<&RawTurn>) -> bool| cues.iter().filter(|cue| is(cue)).count();
        [many(&sounded), many(&silent), many(&|cue| !silent(cue) && !judged(cue))]
    }
}

impl RawTurn {
    /// Whether the coach chose the cue, and its key was not told late.
    pub fn chosen(&self) -> bool {
        !["again", "apart"].contains(&self.why())
            && ["warning_beats", "second_task"].iter().all(|it| self.cue.get(*it).is_none())
    }
    pub fn why(&self) -> &str {
        self.cue["reason"]["why"].as_str().unwrap()
    }
    pub fn sounded(&self) -> bool {
        self.answer.as_ref().is_some_and(|answer| !answer["heard"].as_array().unwrap().is_empty())
    }
    pub fn related(&self) -> Option<bool> {
        Some(self.judged.as_ref()?["verdict"]["related"] == true)
    }
    pub fn counts(&self) -> bool {
        self.chosen() && self.sounded() && !self.contested && self.related() == Some(true)
    }
    pub fn verdict(&self) -> &Value {
        &self.judged.as_ref().unwrap()["verdict"]
    }
    fn in_key(&self) -> bool {
        int(&self.verdict()["shift_half_steps"]) % 12 == 0
    }
    pub fn right(&self) -> i64 {
        if self.in_key() { int(&self.verdict()["right"]) } else { 0 }
    }
    pub fn of(&self) -> i64 {
        int(&self.verdict()["of"])
    }
    pub fn whole(&self) -> bool {
        let verdict = self.verdict();
        self.right() == self.of() && self.in_key() && verdict["extra"] == 0 && verdict["attempts"] == 1
    }
    pub fn up(&self) -> bool {
        let judged = self.judged.as_ref().unwrap();
        judged.get("step").map_or(judged["verdict"]["passed"] == true, |step| step == "up")
    }
    pub fn free(&self) -> bool {
        self.answer.as_ref().unwrap()["clock"]["timing"] == "free"
    }
    pub fn reflex(&self) -> Option<f64> {
        let reflex = &self.verdict()["reflex"];
        (self.free() && reflex["counted"] == true).then(|| num(&reflex["time_s"]))
    }
    /// The pace of an answer that went up, in quarters a minute.
    pub fn pace_held(&self) -> Option<f64> {
        self.verdict()["pace_quarter_per_minute"].as_f64().filter(|_| self.up())
    }
    /// The pace of an answer in tempo that went up.
    pub fn pace(&self) -> Option<f64> {
        self.pace_held().filter(|_| !self.free())
    }
    pub fn tempo(&self) -> f64 {
        num(&self.cue["quarter_per_minute"])
    }
    pub fn stood(&self) -> usize {
        self.verdict()["stood"].as_array().map_or(0, Vec::len)
    }
    pub fn key(&self) -> &str {
        self.cue["concert_key"].as_str().unwrap()
    }
    pub fn pattern(&self) -> &str {
        self.cue["pattern"].as_str().unwrap()
    }

    /// The pace that the answer had, at most the tempo asked, in quarters a minute.
    pub fn held(&self) -> Option<f64> {
        let line = self.cue["line"].as_array().unwrap();
        if line.len() == 1 {
            return Some(self.tempo());
        }
        let heard = self.answer.as_ref().unwrap()["heard"].as_array().unwrap();
        let own =
            line.iter().zip(self.verdict()["expected"].as_array().unwrap()).filter(|(_, it)| it["label"] != "merged");
        let onsets: Vec<(f64, f64)> = own
            .filter_map(|(note, it)| {
                let heard = heard.get(usize::try_from(it["heard"].as_u64()?).unwrap())?;
                Some((num(&note["at_quarters"]), num(&heard["onset_s"])))
            })
            .collect();
        let ends = || {
            let (first, last) = (onsets.first()?, onsets.last().filter(|_| onsets.len() > 1)?);
            Some(60.0 * (last.0 - first.0) / (last.1 - first.1))
        };
        let steady = self.verdict()["pace_quarter_per_minute"].as_f64().filter(|_| self.stood() == 0);
        let pace = steady.or_else(|| ends().filter(|pace| pace.is_finite() && *pace > 0.0))?;
        Some(if pace >= 0.95 * self.tempo() { self.tempo() } else { pace })
    }
}

/// All cues of these sittings, each with the index of its sitting.
pub fn turns(sittings: &[&RawSitting]) -> Vec<RawTurn> {
    let of = |(sitting, it): (usize, &&RawSitting)| {
        it.turns.iter().cloned().map(move |turn| RawTurn { sitting, ..turn }).collect::<Vec<_>>()
    };
    sittings.iter().enumerate().flat_map(of).collect()
}

/// How many of the first tries are whole, and how many first tries there are. A first try is the first answer on a day to a pattern in a
/// key.
pub fn first_tries(answers: &[&RawTurn]) -> (usize, usize) {
    let mut tried = BTreeSet::new();
    let first: Vec<&&RawTurn> = answers.iter().filter(|it| tried.insert((it.day, it.pattern(), it.key()))).collect();
    (first.iter().filter(|it| it.whole()).count(), first.len())
}

pub fn middle(answers: &[&RawTurn], of: impl Fn(&RawTurn) -> Option<f64>) -> Option<f64> {
    median(&answers.iter().filter_map(|answer| of(answer)).collect::<Vec<_>>())
}

/// The figures of the seven days that end with day `until`; `None` where they have no sitting.
pub fn week(sittings: &[&RawSitting], until: i64) -> Option<Value> {
    let within = |sitting: &&&RawSitting| (until - 6..=until).contains(&int(&sitting.head["day"]));
    let mine: Vec<&RawSitting> = sittings.iter().filter(within).copied().collect();
    let days: BTreeSet<i64> = mine.iter().map(|it| int(&it.head["day"])).collect();
    let turns = turns(&mine);
    let answers: Vec<&RawTurn> = turns.iter().filter(|turn| turn.counts()).collect();
    let (first_whole, tries) = first_tries(&answers);
    (!mine.is_empty()).then(|| {
        json!({
            "until_day": until, "days": days.len(), "sittings": mine.len(),
            "sounding_s": mine.iter().map(|it| it.sounding()).sum::<f64>(),
            "rests": mine.iter().map(|it| it.rests().0).sum::<usize>(),
            "resting_s": mine.iter().map(|it| it.rests().1).sum::<f64>(),
            "answers": answers.len(), "whole": answers.iter().filter(|it| it.whole()).count(),
            "first_whole": first_whole, "first_tries": tries, "reflex_s": middle(&answers, RawTurn::reflex),
            "pace_quarter_per_minute": middle(&answers, RawTurn::pace),
        })
    })
}

/// The cents of the right notes, by sounding pitch: of notes that came from below, of those from above, and of all.
pub fn pitches(answers: &[&RawTurn]) -> BTreeMap<i64, [Vec<f64>; 3]> {
    let mut found: BTreeMap<i64, [Vec<f64>; 3]> = BTreeMap::new();
    for answer in answers {
        let (line, verdict) = (answer.cue["line"].as_array().unwrap(), answer.verdict());
        for (at, note) in verdict["expected"].as_array().unwrap().iter().enumerate() {
            let (Some(cents), true) = (note["cents"].as_f64(), note["label"] == "right") else { continue };
            let asked = |at: usize| int(&line[at]["midi"]);
            let rows = found.entry(asked(at) + int(&verdict["shift_half_steps"])).or_default();
            rows[2].push(cents);
            match at.checked_sub(1).map(|before| asked(at) - asked(before)) {
                Some(way) if way > 0 => rows[0].push(cents),
                Some(way) if way < 0 => rows[1].push(cents),
                _ => {}
            }
        }
    }
    found
}
