use std::fmt;

use crate::music::{Degree, HalfSteps};

/// The third of a chord, or what stands in its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub(super) enum ThirdKind {
    #[default]
    Major,
    Minor,
    /// A suspended second.
    Second,
    /// A suspended fourth.
    Fourth,
    /// No third: the chord has root and fifth alone.
    Open,
}

/// The seventh above the root.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Seventh {
    Major,
    Minor,
    Diminished,
}

/// A ninth, eleventh or thirteenth that is named on its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) enum Tension {
    FlatNinth,
    Ninth,
    SharpNinth,
    Eleventh,
    SharpEleventh,
    FlatThirteenth,
    Thirteenth,
}

/// What a chord is made of, without its root, as its symbol says it: `9` and `7add9` have the same tones and are two qualities.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Default)]
pub struct ChordQuality {
    /// The third, or what stands in its place.
    pub(super) third: ThirdKind,
    /// Whether the chord has a fifth lowered by a half step.
    pub(super) flat_fifth: bool,
    /// Whether the chord has a fifth raised by a half step.
    pub(super) sharp_fifth: bool,
    /// Whether a major sixth is added.
    pub(super) sixth: bool,
    /// The seventh; `None` where the chord has none.
    pub(super) seventh: Option<Seventh>,
    /// The highest number of the stack of thirds: 7, 9, 11 or 13; without meaning where the chord has no seventh.
    pub(super) stack: u8,
    /// The tensions that are named, in rising order, each once.
    pub(super) tensions: Vec<Tension>,
    /// Whether the chord is a dominant whose fifth and ninth are altered as the player likes (`7alt`).
    pub(super) altered: bool,
}

impl Tension {
    /// The tension with the number `number`, `alter` half steps above the major scale; `None` where no chord symbol names it.
    pub(super) const fn of(number: u32, alter: i32) -> Option<Self> {
        Some(match (number, alter) {
            (2 | 9, -1) => Self::FlatNinth,
            (2 | 9, 0) => Self::Ninth,
            (2 | 9, 1) => Self::SharpNinth,
            (4 | 11, 0) => Self::Eleventh,
            (4 | 11, 1) => Self::SharpEleventh,
            (6 | 13, -1) => Self::FlatThirteenth,
            (6 | 13, 0) => Self::Thirteenth,
            _ => return None,
        })
    }
    const fn sign(self) -> &'static str {
        match self {
            Self::FlatNinth => "b9",
            Self::Ninth => "9",
            Self::SharpNinth => "#9",
            Self::Eleventh => "11",
            Self::SharpEleventh => "#11",
            Self::FlatThirteenth => "b13",
            Self::Thirteenth => "13",
        }
    }
    const fn degree(self) -> Degree {
        match self {
            Self::FlatNinth => Degree::altered(8, -1),
            Self::Ninth => Degree::altered(8, 0),
            Self::SharpNinth => Degree::altered(8, 1),
            Self::Eleventh => Degree::altered(10, 0),
            Self::SharpEleventh => Degree::altered(10, 1),
            Self::FlatThirteenth => Degree::altered(12, -1),
            Self::Thirteenth => Degree::altered(12, 0),
        }
    }
    /// Whether the tension is unaltered: without the word "add" its number would be read as the top of a stack.
    const fn plain(self) -> bool {
        matches!(self, Self::Ninth | Self::Eleventh | Self::Thirteenth)
    }
}

impl ChordQuality {
    /// The tones upward from the root, spelled by function. A stacked ninth, eleventh or thirteenth has all thirds below it, except
    /// that an altered tension replaces the plain one and that a suspended fourth has no eleventh; `7alt` has root, third, seventh,
    /// b9, #9, #11 and b13 (common practice).
    #[must_use]
    pub fn degrees(&self) -> Vec<Degree> {
        let at = |number: i32, alter: i32| Degree::altered(number - 1, alter);
        let mut tones = vec![Degree::TONIC];
        tones.extend(match self.third {
            ThirdKind::Major => Some(at(3, 0)),
            ThirdKind::Minor => Some(at(3, -1)),
            ThirdKind::Second => Some(at(2, 0)),
            ThirdKind::Fourth => Some(at(4, 0)),
            ThirdKind::Open => None,
        });
        if self.flat_fifth {
            tones.push(at(5, -1));
        } else if !self.sharp_fifth && !self.altered {
            tones.push(at(5, 0));
        }
        tones.extend(self.sharp_fifth.then(|| at(5, 1)));
        tones.extend(self.sixth.then(|| at(6, 0)));
        tones.extend(self.seventh.map(|seventh| match seventh {
            Seventh::Major => at(7, 0),
            Seventh::Minor => at(7, -1),
            Seventh::Diminished => at(7, -2),
        }));
        tones.extend(self.all_tensions().into_iter().map(Tension::degree));
        tones
    }
    /// Half steps of the tones above the root.
    #[must_use]
    pub fn half_steps(&self) -> Vec<HalfSteps> {
        self.degrees().into_iter().map(|degree| HalfSteps(degree.half_steps)).collect()
    }
    /// The tones that tell one chord from another: third and seventh, or what stands for them: the second or fourth of a suspended chord,
    /// and the sixth of a chord without a seventh.
    #[must_use]
    pub fn guide_tones(&self) -> Vec<Degree> {
        self.degrees().into_iter().filter(|degree| matches!(degree.letters, 1..=3 | 5..=6)).collect()
    }
    /// Stacked and named tensions together, rising.
    fn all_tensions(&self) -> Vec<Tension> {
        let mut all = self.tensions.clone();
        let stack = if self.seventh.is_some() { self.stack } else { 0 };
        let has = |set: &[Tension], any: &[Tension]| any.iter().any(|one| set.contains(one));
        if stack >= 9 && !has(&all, &[Tension::FlatNinth, Tension::SharpNinth]) {
            all.push(Tension::Ninth);
        }
        if stack >= 11 && self.third != ThirdKind::Fourth && !has(&all, &[Tension::SharpEleventh]) {
            all.push(Tension::Eleventh);
        }
        if stack >= 13 && !has(&all, &[Tension::FlatThirteenth]) {
            all.push(Tension::Thirteenth);
        }
        if self.altered {
            all.extend([Tension::FlatNinth, Tension::SharpNinth, Tension::SharpEleventh, Tension::FlatThirteenth]);
        }
        all.sort_unstable();
        all.dedup();
        all
    }
    /// The same chord in the one form in which it is kept: a sixth beside a seventh is a thirteenth, and a tension that is in the stack
    /// already is not named again, unless an altered one of the same number stands beside it. A chord that is `altered` is `7alt`, whatever
    /// else was said of it.
    pub(super) fn settled(mut self) -> Self {
        if self.altered {
            return Self { altered: true, seventh: Some(Seventh::Minor), stack: 7, ..Self::default() };
        }
        if self.seventh.is_some() && std::mem::take(&mut self.sixth) {
            self.tensions.push(Tension::Thirteenth);
        }
        self.stack = if self.seventh.is_some() { self.stack.max(7) } else { 0 };
        self.tensions.sort_unstable();
        self.tensions.dedup();
        let mut bare = self.clone();
        for tension in std::mem::take(&mut bare.tensions) {
            if !bare.all_tensions().contains(&tension) || self.crowded(tension) {
                bare.tensions.push(tension);
            }
        }
        bare
    }
    /// Whether a plain tension has an altered one of the same number beside it. Then the plain one is named even on a stack, where
    /// the altered one would replace it.
    fn crowded(&self, tension: Tension) -> bool {
        let rivals: &[Tension] = match tension {
            Tension::Ninth => &[Tension::FlatNinth, Tension::SharpNinth],
            Tension::Eleventh => &[Tension::SharpEleventh],
            Tension::Thirteenth => &[Tension::FlatThirteenth],
            _ => return false,
        };
        rivals.iter().any(|rival| self.tensions.contains(rival))
    }
    /// The beginning of the symbol, before suspensions and tensions, and whether it tells a flat fifth and a sharp fifth already.
    fn stem(&self) -> (String, bool, bool) {
        let top = if self.seventh.is_some() { self.stack.to_string() } else { String::new() };
        let six = if self.sixth { "6" } else { "" };
        let minor = self.third == ThirdKind::Minor;
        let dim = minor && self.flat_fifth && !self.sixth;
        match self.seventh {
            Some(Seventh::Diminished) => (format!("dim{top}"), true, false),
            Some(Seventh::Major) if dim => (format!("dimMaj{top}"), true, false),
            Some(Seventh::Major) if minor => (format!("mMaj{top}"), false, false),
            Some(Seventh::Major) => (format!("maj{top}"), false, false),
            Some(Seventh::Minor) if minor => (format!("m{top}"), false, false),
            Some(Seventh::Minor) => (top, false, false),
            None if dim => ("dim".to_owned(), true, false),
            None if minor => (format!("m{six}"), false, false),
            None if self.third == ThirdKind::Open => ("5".to_owned(), false, false),
            None if self.third == ThirdKind::Major && self.sharp_fifth && !self.sixth => {
                ("aug".to_owned(), false, true)
            }
            None => (six.to_owned(), false, false),
        }
    }
}

impl fmt::Display for ChordQuality {
    /// The usual symbol, such as `maj7`, `m7b5`, `7#9` and `6/9`; nothing for a major triad.
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.altered {
            return out.write_str("7alt");
        }
        let (stem, flat_told, sharp_told) = self.stem();
        out.write_str(&stem)?;
        let mut tensions = self.tensions.as_slice();
        if self.sixth && tensions.contains(&Tension::Ninth) {
            out.write_str("/9")?;
        }
        match self.third {
            ThirdKind::Second => out.write_str("sus2")?,
            ThirdKind::Fourth => out.write_str("sus4")?,
            _ => {}
        }
        let bare = stem.is_empty() && !matches!(self.third, ThirdKind::Second | ThirdKind::Fourth);
        if self.flat_fifth && !flat_told {
            out.write_str(if bare { "(b5)" } else { "b5" })?;
        }
        if self.sharp_fifth && !sharp_told {
            out.write_str(if bare { "(#5)" } else { "#5" })?;
        }
        while let [tension, rest @ ..] = tensions {
            tensions = rest;
            if self.sixth && *tension == Tension::Ninth {
                continue;
            }
            let add = tension.plain() || (self.seventh.is_none() && !self.sixth);
            write!(out, "{}{}", if add { "add" } else { "" }, tension.sign())?;
        }
        Ok(())
    }
}
