//! Plants faults of single notes in an answer.

use super::generator::{Sounded, Take, line};

impl Take {
    pub fn plant(&mut self, fault: &str) {
        match fault {
            "sub" => self.wrong_note(),
            "octave1" => {
                let place = self.chance.pick(&self.whole());
                let at = self.index(place).unwrap();
                self.notes[at].pitch += f64::from(self.chance.pick(&[12, -12]));
                self.labels[place] = "octave";
            }
            "missed" => self.left_out(),
            "first_missed" => {
                self.notes.remove(0);
                self.labels[0] = "missed";
            }
            "extra" => self.put_in(),
            "scoop" => {
                let down = self.chance.pick(&[1.0, 1.0, 2.0]) + self.chance.between(0.0, 0.2);
                let length = self.chance.between(0.035, 0.08);
                self.speaks_late(length, 0.4, -down, (0.4, 0.85));
            }
            "overblow" => {
                let (up, length) = (self.chance.pick(&[12.0, 12.0, 19.0, 7.0]), self.chance.between(0.025, 0.07));
                self.speaks_late(length, 0.35, up, (0.35, 0.8));
            }
            "ghost" => {
                let after = self.chance.whole(0, self.notes.len() as i32 - 1) as usize;
                let (length, pitch) = (self.chance.between(0.02, 0.05), self.chance.between(45.0, 84.0));
                self.by_product(self.notes[after].off + 0.003, length, pitch, (0.15, 0.45));
            }
            "split" => self.cracked(),
            "merged" => self.held_as_one(),
            "truncated" => self.broke_off(),
            "junk" => {
                let mut at = self.notes[0].on - self.chance.between(0.15, 0.4);
                for _ in 0..self.chance.whole(1, 2) {
                    let (length, pitch) = (self.chance.between(0.03, 0.06), self.chance.between(45.0, 84.0));
                    self.by_product(at, length, pitch, (0.2, 0.5));
                    at -= 0.1;
                }
            }
            "restart" => self.begun_twice(0),
            "restart_key" => {
                let up = self.chance.pick(&[-2, -1, 1, 2, 5]);
                self.begun_twice(up);
            }
            _ => {}
        }
    }

    fn wrong_note(&mut self) {
        let place = self.chance.pick(&self.whole());
        let near = self.neighbours(place);
        let told = |by: &i32| self.loose || !near.contains(&(self.pitches[place] + by));
        let steps: Vec<i32> = [-1, 1, -1, 1, -2, 2, -3, 3, 5, -5, 6].into_iter().filter(told).collect();
        let at = self.index(place).unwrap();
        self.notes[at].pitch += f64::from(self.chance.pick(&steps));
        self.labels[place] = "wrong";
    }

    fn left_out(&mut self) {
        let places: Vec<usize> = self.distinct().into_iter().filter(|place| *place > 0).collect();
        if places.is_empty() {
            return;
        }
        let place = self.chance.pick(&places);
        let at = self.index(place).unwrap();
        let gone = self.notes.remove(at);
        self.labels[place] = "missed";
        // Sometimes the rest closes up.
        if !self.click && self.chance.happens(0.4) && at < self.notes.len() {
            let next = self.notes[at].on;
            self.push(next, gone.on - next);
        }
    }

    fn put_in(&mut self) {
        let places: Vec<usize> = self.whole().into_iter().filter(|place| self.index(place + 1).is_some()).collect();
        if places.is_empty() {
            return;
        }
        let place = self.chance.pick(&places);
        let (here, next) = (self.index(place).unwrap(), self.index(place + 1).unwrap());
        let near = [self.neighbours(place), self.neighbours(place + 1), vec![self.pitches[place]]].concat();
        let told = |by: &i32| !near.contains(&(self.pitches[place] + by));
        let steps: Vec<i32> = [-3, -2, -1, 1, 2, 3, 4].into_iter().filter(told).collect();
        let gap = self.notes[next].on - self.notes[here].on;
        let pitch = self.notes[here].pitch.round() + f64::from(self.chance.pick(&steps)) + self.tuning;
        // Either the rest waits for it, or it takes half of the note before it.
        let (on, length) = if (!self.click && self.chance.happens(0.5)) || gap < 0.24 {
            let on = self.notes[next].on;
            self.push(on, gap.max(0.11));
            (on, (0.9 * gap).max(0.1))
        } else {
            let on = self.notes[here].on + 0.5 * gap;
            self.notes[here].off = on - 0.01;
            (on, 0.45 * gap)
        };
        let sure = self.chance.between(0.7, 1.0);
        self.notes.push(Sounded { on, off: on + length, pitch, sure, place: None, label: "extra" });
    }

    /// Plants a note that begins `by` half steps off, for `length` seconds or at most for this share of its own length.
    fn speaks_late(&mut self, length: f64, share: f64, by: f64, sure: (f64, f64)) {
        let place = self.chance.pick(&self.whole());
        let at = self.index(place).unwrap();
        let note = &mut self.notes[at];
        let (on, pitch, length) = (note.on, note.pitch + by, length.min(share * (note.off - note.on)));
        note.on += length;
        self.by_product(on, length, pitch, sure);
    }

    fn cracked(&mut self) {
        let places = self.distinct();
        if places.is_empty() {
            return;
        }
        let place = self.chance.pick(&places);
        let at = self.index(place).unwrap();
        let whole = self.notes[at].clone();
        let cut = whole.on + (whole.off - whole.on) * self.chance.between(0.35, 0.65);
        self.notes[at].off = cut;
        let (on, pitch) = (cut + self.chance.between(0.005, 0.03), whole.pitch + self.chance.normal(0.05));
        self.notes.push(Sounded { on, pitch, sure: 0.95 * whole.sure, place: None, label: "artefact", ..whole });
    }

    fn held_as_one(&mut self) {
        let whole = self.whole();
        let twice = |place: &usize| whole.contains(&(place + 1)) && self.pitches[*place] == self.pitches[place + 1];
        let places: Vec<usize> = whole.iter().copied().filter(twice).collect();
        if places.is_empty() {
            return;
        }
        let place = self.chance.pick(&places);
        let second = self.index(place + 1).unwrap();
        let off = self.notes.remove(second).off;
        let first = self.index(place).unwrap();
        self.notes[first].off = off;
        self.labels[place + 1] = "merged";
    }

    fn broke_off(&mut self) {
        let count = self.pitches.len();
        if count < 4 {
            return;
        }
        let after = self.chance.whole(2, count as i32 - 2) as usize;
        self.notes.retain(|note| note.place.is_none_or(|place| place < after));
        self.labels[after..].fill("missed");
    }

    /// Plants a second attempt. The first attempt is the beginning of the line, `up` half steps higher; where `up` is 0 its last note may
    /// be a wrong one. After it come a silence and the whole line.
    fn begun_twice(&mut self, up: i32) {
        let (start, beat, count) = (self.due + self.began, self.beat(), self.pitches.len());
        let tried = (self.chance.whole(2, 2.max(count as i32 - 1)) as usize).min(count - 1);
        let mut earlier: Vec<Sounded> = (0..tried)
            .map(|place| {
                let on = start + self.put[place] * beat;
                let pitch = f64::from(self.pitches[place] + up) + self.tuning + self.chance.normal(0.06);
                Sounded { on, off: on + 0.425 * beat, pitch, sure: 0.9, place: None, label: "earlier" }
            })
            .collect();
        let last = earlier.last_mut().unwrap();
        if up == 0 && self.chance.happens(0.5) {
            last.pitch += f64::from(self.chance.pick(&[-2, -1, 1, 2]));
        }
        let late = last.off + self.chance.between(0.3, 1.2) - self.notes[0].on;
        self.push(f64::NEG_INFINITY, late);
        self.notes.extend(earlier);
        self.attempts = 2;
    }

    /// Replaces the answer with leaps that have nothing to do with the line.
    pub fn something_else(&mut self) {
        self.related = false;
        let (start, beat) = (self.due + self.began, self.beat());
        let mut pitch = f64::from(self.pitches[0]) + self.tuning;
        let count = line(&mut self.chance).len();
        self.notes.clear();
        for n in 0..count {
            pitch += self.chance.pick(&[-7.0, -5.0, -4.0, -3.0, 3.0, 4.0, 5.0, 6.0, 8.0, -8.0]);
            let on = start + 0.5 * n as f64 * beat;
            self.notes.push(Sounded { on, off: on + 0.4 * beat, pitch, sure: 0.9, place: None, label: "extra" });
        }
    }
}
