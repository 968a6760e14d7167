macro_rules! rules {
    ($($(#[$doc:meta])* $name:ident: $value:expr,)*) => {
        /// The numbers the ear decides by. They were chosen by leaving one out at a time on two draws of a corpus with known
        /// notes; change one only with such a table in hand. Lengths are in milliseconds or periods, intervals in cents.
        #[derive(Debug, Clone, Copy, PartialEq)]
        pub struct Rules {
            $($(#[$doc])* pub $name: f64,)*
        }
        impl Default for Rules {
            fn default() -> Self {
                Self { $($name: $value,)* }
            }
        }
        impl Rules {
            /// Sets a rule by its name, for comparing; false where there is no such rule.
            pub fn set(&mut self, name: &str, value: f64) -> bool {
                match name {
                    $(stringify!($name) => self.$name = value,)*
                    _ => return false,
                }
                true
            }
        }
    };
}

rules! {
    /// Correlation window of the lags above `SHORT_HZ`, in hops.
    short_window_hops: 3.0,
    /// Correlation window of longer lags, in lags.
    window_lags: 1.8,
    /// No window of the longer lags is shorter than this, in hops.
    least_window_hops: 4.0,
    /// Smallest peak of the normalised square difference that is a candidate.
    candidate: 0.4,
    /// A shorter lag wins with this share of a longer one's clarity ...
    near_ratio: 0.82,
    /// ... and needs this share where the two are three octaves apart.
    far_ratio: 0.94,
    /// A candidate at the pitch of the sounding note wins with this share of the best.
    continuity: 0.88,
    /// ... unless the winner is a shorter lag with this share of its clarity.
    continuity_shorter: 0.97,
    /// How much a measurement at the full rate may differ from that of a lower band, cents.
    refine_cents: 6.0,
    /// A middle pitch is measured again on the double period in the low band where that has this clarity.
    low_clarity: 0.97,
    /// A frame has a pitch from this clarity on.
    voiced: 0.6,
    /// The background never takes more than this share of the energy.
    background_share: 0.3,
    /// Largest step between frames of one run, cents.
    run_step: 45.0,
    /// A note opens after a run this long, ms.
    open_ms: 9.0,
    /// ... and this many periods.
    open_periods: 0.9,
    /// Mean clarity of a run that opens a note.
    open_clarity: 0.85,
    /// A steady run this long, ms ...
    open_patient_ms: 50.0,
    /// ... and this many periods ...
    open_patient_periods: 4.0,
    /// ... within this range, cents ...
    open_patient_range: 25.0,
    /// ... opens a note with this mean clarity.
    open_patient_clarity: 0.7,
    /// Level over the floor that opens a note, dB.
    open_over_floor: 6.0,
    /// A note opens within this of the loudest moment since the sound began, dB.
    open_under_peak: 12.0,
    /// ... and within this of the loudest since the onset it is dated to, dB: later it is a decay without a note.
    open_under_onset: 8.0,
    /// A sound falling this much within three hops opens nothing, dB.
    open_fall: 4.0,
    /// After a note the level must rise this much over its lowest before the next opens, dB.
    open_rise: 5.0,
    /// ... and this much where it is still softer than the note before by `release_fall` (on its pitch by `split_under_peak`), as
    /// its echo would be, dB.
    open_echo_rise: 12.0,
    /// How long an echo is expected, ms.
    open_echo_ms: 1500.0,
    /// A note of short periods opens when its sound also repeats over 5.5 ms with this clarity.
    open_coherence: 0.7,
    /// The same for a split to a pitch more than an octave higher.
    split_coherence: 0.7,
    /// How fast the reference pitch follows before and after it has settled, share a frame.
    follow_fresh: 0.25,
    /// See `follow_fresh`.
    follow_settled: 0.03,
    /// Frames that settle a note.
    settle_frames: 6.0,
    /// Their largest distance from the reference, cents.
    settle_cents: 35.0,
    /// Their least clarity.
    settle_clarity: 0.86,
    /// A note this old counts as settled, ms.
    settle_ms: 55.0,
    /// An octave up from a beginning without an attack of its own corrects the note for this long, ms.
    correct_octave_ms: 45.0,
    /// A note of less than this mean clarity ...
    unsure_clarity: 0.9,
    /// ... and age, ms, is the scoop into the pitch less than two and a half half steps above it.
    unsure_ms: 150.0,
    /// The moment of a slur is looked for from this long before the looks that show it, ms ...
    change_back_ms: 60.0,
    /// ... but not before the last look of this clarity ...
    change_sure_clarity: 0.97,
    /// ... this near the old pitch, cents.
    change_sure_cents: 10.0,
    /// A look before a note was known counts for its pitch within this: no scoop is as wide, cents.
    remember_cents: 250.0,
    /// A new pitch is this far from the old one, cents.
    split_cents: 55.0,
    /// ... or this far, cents, ...
    split_young_cents: 75.0,
    /// ... while it is younger than this, ms.
    split_young_ms: 110.0,
    /// A pitch softer than the loudest of the note by this is an echo or a key, no slur, dB.
    split_under_peak: 16.0,
    /// It must last this long from the middle of the change, ms ...
    split_ms: 12.0,
    /// ... and this many of its periods.
    split_periods: 0.6,
    /// Octaves and twelfths must last longer by this, ms.
    split_octave_ms: 14.0,
    /// The new pitch keeps within this range, cents.
    split_range: 52.0,
    /// Mean clarity of the new pitch.
    split_clarity: 0.85,
    /// A change this soon after the onset corrects the note, ms ...
    correct_ms: 30.0,
    /// ... or this many periods.
    correct_periods: 0.8,
    /// The same for a note that began with an attack and had no dip since, ms.
    correct_attack_ms: 36.0,
    /// A small change within this many periods corrects the note (a scoop).
    scoop_periods: 4.0,
    /// No longer than this, ms.
    scoop_ms: 70.0,
    /// What a small change is, cents.
    scoop_cents: 130.0,
    /// A change this soon after the onset, ms, ...
    climb_ms: 50.0,
    /// ... of less than this, half steps, ...
    climb_reach: 3.0,
    /// ... while the level rises by this, dB, is still the attack of the note.
    climb_rise: 8.0,
    /// A note younger than this, ms, ...
    glide_ms: 200.0,
    /// ... that moved towards the new pitch in every stretch of this length, ms, ...
    glide_span_ms: 20.0,
    /// ... by this, cents, ...
    glide_cents: 4.0,
    /// ... and by this in all, cents, ...
    glide_least: 20.0,
    /// ... never by a larger step than this a look, cents, ...
    glide_step: 22.0,
    /// ... but for so many looks at its beginning, is a glide into it.
    glide_rough: 8.0,
    /// A higher pitch that was there all along: its share of the best clarity ...
    already_ratio: 0.8,
    /// ... in this share of the note's frames ...
    already_share: 0.4,
    /// ... of a note younger than this, ms.
    already_ms: 180.0,
    /// Within that time an octave below was the note all along if it was clearer by this.
    octave_lead: 0.04,
    /// ... and an octave above was it that had no more than this share of the clarity at first ...
    octave_absent: 0.65,
    /// ... and came to this share ...
    octave_ratio: 0.9,
    /// ... in this share of the note's looks.
    octave_share: 0.5,
    /// A change without a step of this size in two hops may be vibrato, cents.
    vibrato_step: 22.0,
    /// ... if the clarity never fell under this.
    vibrato_clarity: 0.92,
    /// Then the new pitch must last this long, ms.
    vibrato_ms: 110.0,
    /// Fall of clarity that is a break in the phase.
    break_fall: 0.12,
    /// Clarity before the break.
    break_before: 0.9,
    /// Clarity after it.
    break_after: 0.78,
    /// Share of what was lost that has come back: a clarity still falling may be the beginning of a slur.
    break_recovered: 0.4,
    /// Rise of level over the least within the break, dB.
    break_rise: 1.5,
    /// After a break the level is within this of what it was, dB.
    break_back: 3.0,
    /// More rise is asked of a fresh note, dB, fading as `repeat_fresh` does.
    break_fresh: 6.0,
    /// A note this old, ms, has had its attack: a break that ...
    calm_ms: 60.0,
    /// ... so clear a note ...
    calm_clarity: 0.95,
    /// ... with a fall of `repeat_fall` asks for no more than that the level comes back to within this, dB.
    calm_back: 4.0,
    /// A string struck again is sharper for a moment than it was, by this, dB, ...
    strike_burst: 5.0,
    /// ... in all of this time, ms, and one period, ...
    strike_before_ms: 25.0,
    /// ... this near its lowest level, ms, ...
    strike_near_ms: 30.0,
    /// ... which lies this far below what it was, dB, ...
    strike_fall: 4.0,
    /// ... and this far below what it is now, dB, ...
    strike_rise: 3.0,
    /// ... within this of what it was, dB.
    strike_back: 9.0,
    /// It loses this share of the clarity that a new phase may cost, ...
    strike_lost: 0.3,
    /// ... but this is enough.
    strike_lost_enough: 0.1,
    /// A gap of this depth on both sides, dB, ...
    gap_depth: 9.0,
    /// ... within this of its lowest level, ms, is a tongue; `break_back` holds for it.
    gap_ms: 25.0,
    /// Largest distance of a repeated note from the old pitch, cents.
    repeat_cents: 60.0,
    /// Looks that must be that near, so that the beginning of a slur is no repeat.
    repeat_frames: 3.0,
    /// Rise of level that repeats a note, dB.
    repeat_rise: 5.5,
    /// The fall before it, dB.
    repeat_fall: 3.0,
    /// Time within which it rises, ms (one period is added).
    repeat_ms: 22.0,
    /// More rise is asked where the clarity did not dip and the pitch has not moved, dB.
    repeat_no_dip: 5.0,
    /// What a moved pitch is, cents.
    repeat_moved: 35.0,
    /// What a dip of clarity is.
    repeat_dip: 0.13,
    /// More rise is asked of a fresh note, dB, fading to none at `repeat_fresh_ms`.
    repeat_fresh: 8.0,
    /// See `repeat_fresh`.
    repeat_fresh_ms: 200.0,
    /// The risen level holds this long, ms.
    repeat_hold_ms: 9.0,
    /// A look counts for a repeat when no more than this share of it lies before the onset.
    repeat_overlap: 0.1,
    /// The lowest point is at least this long after the onset, ms.
    repeat_valley_ms: 34.0,
    /// A repeat comes back to within this of the note's loudest, dB.
    repeat_back: 10.0,
    /// An onset is where the sound is first within this of its loudest, dB.
    onset_under_peak: 20.0,
    /// The span in which the loudest moment is looked for, ms.
    onset_span_ms: 300.0,
    /// A note ends this far under its level, dB.
    release_fall: 22.0,
    /// A note ends after this long without a pitch, ms (two periods are added).
    release_unvoiced_ms: 200.0,
    /// Frames that must agree before a note is told.
    announce_frames: 4.0,
    /// Their range, cents.
    announce_range: 7.0,
    /// ... and of periods longer than this, ms ...
    announce_long_ms: 4.5,
    /// ... which are measured on fewer of them.
    announce_long_range: 16.0,
    /// Their distance from the reference, cents.
    announce_near: 40.0,
    /// A note is told at the latest after this, ms, or two periods.
    announce_latest_ms: 60.0,
    /// What begins this soon after the end of a note, ms, ...
    faint_joined_ms: 20.0,
    /// ... and is softer than that by this, dB, may be a consonant, a tongue or a slide away: it is told after this, ms, ...
    faint_under: 6.0,
    /// ... where it began with an attack, ...
    faint_attack_ms: 45.0,
    /// ... this, ms, where it did not, ...
    faint_ms: 100.0,
    /// ... or so many periods, ...
    faint_periods: 40.0,
    /// ... or with so many looks in a row within `announce_range`, ...
    faint_frames: 8.0,
    /// ... and without a pitch at rest only after this, ms; ...
    faint_latest_ms: 250.0,
    /// ... but where the period is longer than this, ms, it is told as any other.
    faint_period_ms: 9.0,
    /// What ended before it was told and was softer than the note it is joined to by this, dB, was no note ...
    unannounced_under: 4.0,
    /// ... nor was it, where it stood alone, with less than this mean clarity.
    unannounced_clarity: 0.72,
    /// A slur that fell by this below the note before, dB, ...
    swell_fall: 4.0,
    /// ... and rose by this, dB, before it was told, ...
    swell_rise: 5.0,
    /// ... begins halfway up, if this is so much later, ms, ...
    swell_ms: 35.0,
    /// ... and so many periods, ...
    swell_periods: 6.0,
    /// ... and the pitch was as far off at the lowest level, cents.
    swell_cents: 25.0,
}
