use std::fmt;

use crate::chart::model::{ChartBar, ChordChart, ChordShare, Passage, Strain};
use crate::chart::numeral::Numeral;
use crate::music::PitchName;
use crate::units::greatest_common;

/// Bars on a line of the text (common practice).
const IN_A_LINE: usize = 4;

impl fmt::Display for ChordChart {
    /// The canonical text: one line for the key, where the chart has one, and for a meter other than 4/4; a line for the pick-up, where it
    /// has one; then each strain on new lines, four bars to a line. A bar like the one before it in its passage or ending is printed as
    /// `%`.
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let key = self.home.map(|home| format!("in {home}"));
        let meter = (self.meter != 4).then(|| format!("{}/4", self.meter));
        let head: Vec<String> = key.into_iter().chain(meter).collect();
        if !head.is_empty() {
            writeln!(out, "{}", head.join(" "))?;
        }
        if !self.pickup.is_empty() {
            writeln!(out, "pick-up {}", self.slots(&self.pickup, 1))?;
        }
        let lines: Vec<String> = self.strains.iter().map(|strain| self.strain(strain)).collect();
        out.write_str(&lines.join("\n"))
    }
}

impl ChordChart {
    fn strain(&self, strain: &Strain) -> String {
        let mut line = strain.name.as_ref().map_or_else(String::new, |name| format!("{name}: "));
        let count = strain.passages.len();
        for (n, passage) in strain.passages.iter().enumerate() {
            let (open, bars) = match passage {
                Passage::Once(bars) => ("|", bars),
                Passage::Repeated { bars, .. } | Passage::Ended { bars, .. } => ("|:", bars),
            };
            if n > 0 {
                line.push('\n');
            }
            line.push_str(open);
            self.bars(&mut line, bars);
            match passage {
                Passage::Once(_) => line.push('|'),
                Passage::Repeated { times, .. } => {
                    line.push_str(":|");
                    if *times != 2 {
                        line.push_str(&format!(" {times}x"));
                    }
                }
                Passage::Ended { endings, .. } => {
                    for (number, ending) in endings.iter().enumerate() {
                        line.push_str(&format!("{}{}.", if number == 0 { "|" } else { ":|" }, number + 1));
                        self.bars(&mut line, ending);
                    }
                    line.push_str(if n + 1 < count { "||" } else { "|" });
                }
            }
        }
        line
    }

    /// Bars after an opening bar line, without the closing one.
    fn bars(&self, line: &mut String, bars: &[ChartBar]) {
        for (n, bar) in bars.iter().enumerate() {
            if n > 0 {
                line.push('|');
                if n.is_multiple_of(IN_A_LINE) {
                    line.push_str("\n|");
                }
            }
            let same = n > 0 && bars[n - 1] == *bar;
            let text = if same { "%".to_owned() } else { self.bar(bar) };
            line.push_str(&format!(" {text} "));
        }
    }

    /// A bar in the fewest slots that divide it evenly.
    fn bar(&self, bar: &ChartBar) -> String {
        let common = bar.0.iter().fold(self.meter, |common, share| greatest_common(common, share.beats));
        self.slots(&bar.0, common)
    }

    fn slots(&self, shares: &[ChordShare], beats: u32) -> String {
        let mut words = Vec::new();
        for share in shares {
            words.push(share.chord.as_ref().map_or_else(|| "N.C.".to_owned(), |chord| named(chord, self.home)));
            words.extend((1..share.beats / beats.max(1)).map(|_| "-".to_owned()));
        }
        words.join(" ")
    }
}

/// A chord as a chart writes it: in letters where the chart has the tonic `home`, else as a numeral.
pub(super) fn named(chord: &Numeral, home: Option<PitchName>) -> String {
    home.map_or_else(|| chord.to_string(), |tonic| chord.on(tonic).to_string())
}
