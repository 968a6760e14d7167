macro_rules! rules {
    ($($(#[$doc:meta])* $name:ident: $value:expr,)*) => {
        /// The numbers by which the ear decides. Each field's doc begins with its unit and the range in which the number makes
        /// sense. The values were chosen by leaving one rule out at a time on two draws of a corpus with known notes
        /// (`benches/FIGURES.md`); whoever changes one measures it on that corpus again.
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
            /// Sets the rule of this name, so that a measurement can compare values; false where no rule has that name.
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
    /// whole hops, 1 or more; a fraction is dropped. Length of the correlation window for pitches above 424 Hz: three hops (9 ms)
    /// span several of their periods and end before a quick note does.
    short_window_hops: 3.0,
    /// lags, 1 or more. Length of the correlation window for pitches below 424 Hz, as a multiple of the lag: a window under one lag
    /// shows no repetition, one over two lags delays a low note.
    window_lags: 1.8,
    /// hops, 1 or more. Shortest correlation window for pitches below 424 Hz: in a shorter one noise repeats by chance.
    least_window_hops: 4.0,
    /// clarity, 0 to 1. Smallest peak of the normalised square difference that becomes a candidate for the pitch.
    candidate: 0.4,
    /// share, 0 to 1. A period wins over a longer one less than 1.6 octaves away from this share of its clarity on, because
    /// a multiple of the true period repeats as well.
    near_ratio: 0.82,
    /// share, 0 to 1. A period wins over one three octaves longer from this share of its clarity on: larger than
    /// `near_ratio`, because noise favours long periods.
    far_ratio: 0.94,
    /// share, 0 to 1. The candidate at the pitch of the sounding note wins from this share of the best clarity on, because
    /// a note lasts for many frames.
    continuity: 0.88,
    /// share, 0 to 1. A shorter period wins over the pitch of the sounding note from this share of its clarity on, or a
    /// slur to the octave above would be missed.
    continuity_shorter: 0.97,
    /// clarity, 0 to 1. A period is compared with its half where it repeats this well: what the half leaves is then the odd
    /// partials, and not noise or another note.
    odd_clarity: 0.985,
    /// ratio, above 1. The odd partials are heard where the half of a period leaves this many times the energy that the whole
    /// period leaves.
    odd_rest: 4.0,
    /// share, 0 to 1. Least share of the energy that the half of a period leaves: less is a trace of another string, or of the
    /// room.
    odd_least: 0.004,
    /// dB, 0 or more. Odd partials that fall by no more than this in 32 ms stay: the lower octave is the note.
    odd_fade: 1.0,
    /// dB, above `odd_fade`. Odd partials that fall by this in 32 ms are a reed that spoke an octave low: the upper octave is
    /// the note.
    odd_gone: 2.2,
    /// clarity, 0 to 1. Least clarity of the upper octave for fading odd partials to say that it is the note: a bow that begins to
    /// speak looks like a reed, but is less clear.
    odd_short: 0.85,
    /// cents, above 0. Largest correction of a period by the full-rate samples: a larger one comes from another peak, and
    /// the period of the lower band is kept.
    refine_cents: 6.0,
    /// clarity, 0 to 1. A pitch whose double period the low band's table holds (up to about 240 Hz) is measured again on that
    /// period where it repeats so well: a stiff string's upper partials are sharp.
    low_clarity: 0.97,
    /// clarity, 0 to 1. A frame of this clarity has a pitch; below it lie breath, bow noise and silence.
    voiced: 0.6,
    /// share, 0 to 1. Largest share of a window's energy that is subtracted as the learnt background, so that a wrongly
    /// learnt one cannot hide a note.
    background_share: 0.3,
    /// cents, 0 to 100. Largest step of pitch between two frames of one run: less than a half step, so that no run holds
    /// two notes.
    run_step: 45.0,
    /// ms, above 0. A run of frames opens a note after this time; a click is over before.
    open_ms: 9.0,
    /// periods, above 0. A run of frames opens a note after this many periods, where these are longer than `open_ms`.
    open_periods: 0.9,
    /// clarity, 0 to 1. Mean clarity of a run that opens a note.
    open_clarity: 0.85,
    /// ms, above 0. A run too rough for `open_clarity` (a bow, a reed) opens a note after this time.
    open_patient_ms: 50.0,
    /// periods, above 0. A run too rough for `open_clarity` opens a note after this many periods, where these are longer
    /// than `open_patient_ms`.
    open_patient_periods: 4.0,
    /// cents, above 0. Range of pitch of a run too rough for `open_clarity` that opens a note: noise wanders further.
    open_patient_range: 25.0,
    /// clarity, 0 to 1. Mean clarity of a run too rough for `open_clarity` that opens a note.
    open_patient_clarity: 0.7,
    /// dB, above 0. A note opens this far above the level of the room.
    open_over_floor: 6.0,
    /// dB, above 0. A note opens at most this far below the loudest frame since the last note, looked for 100 ms back (or as far
    /// as the run of frames): what is softer rings on from a knock.
    open_under_peak: 12.0,
    /// dB, above 0. A note opens at most this far below the loudest frame since its onset: what is softer by then is a
    /// decay without a note.
    open_under_onset: 8.0,
    /// dB, above 0. Sound that falls by this much within three hops opens no note: a click does so.
    open_fall: 4.0,
    /// dB, above 0. The level must rise by this much from its lowest since the last note before the next note opens, or the room's
    /// reverberation would be taken for a note.
    open_rise: 5.0,
    /// dB, above 0. Takes the place of `open_rise` while the sound is softer than the last note by `release_fall` (at its
    /// pitch, by `split_under_peak`), as an echo of that note is.
    open_echo_rise: 12.0,
    /// ms, above 0. `open_echo_rise` applies for this time after a note: a room's echo is over by then.
    open_echo_ms: 1500.0,
    /// clarity, 0 to 1. A note of a period under 3.7 ms opens where its sound also repeats over 5.5 ms with this clarity:
    /// narrow-band noise does not.
    open_coherence: 0.7,
    /// share, 0 to 1. The note's reference pitch moves by this share of its distance to each frame's pitch until the note
    /// has settled, because an attack scoops.
    follow_fresh: 0.25,
    /// share, 0 to 1. The note's reference pitch moves by this share of its distance to each frame's pitch once the note
    /// has settled: slow enough that a vibrato does not carry it along.
    follow_settled: 0.03,
    /// frames, 1 or more. A note has settled after this many frames in a row within `settle_cents` and above
    /// `settle_clarity`.
    settle_frames: 6.0,
    /// cents, above 0. Largest distance from the reference pitch of a frame that counts towards `settle_frames`.
    settle_cents: 35.0,
    /// clarity, 0 to 1. Least clarity of a frame that counts towards `settle_frames`.
    settle_clarity: 0.86,
    /// ms, above 0. A note of this age counts as settled in any case, so that a vibrato from the first moment cannot keep
    /// it fresh.
    settle_ms: 55.0,
    /// ms, above 0. The moment of a slur is looked for from this long before the first frame that shows it: in a room the
    /// old pitch rings on.
    change_back_ms: 60.0,
    /// cents, above 0. A frame from before the note was known counts for its pitch centre within this distance: no scoop is
    /// as wide.
    remember_cents: 250.0,
    /// cents, 50 to 100. A pitch this far from the note's begins another note: more than half of a half step.
    split_cents: 55.0,
    /// cents, 50 to 100. Takes the place of `split_cents` in a note younger than `split_young_ms`, because an attack has
    /// not come to rest.
    split_young_cents: 75.0,
    /// ms, above 0. `split_young_cents` applies to a note younger than this.
    split_young_ms: 110.0,
    /// dB, above 0. A pitch this far below the loudest level of the note is an echo or the noise of a key, and no slur.
    split_under_peak: 16.0,
    /// ms, above 0. A new pitch lasts for this time, from the middle of the change, before it begins another note; a pitch more than 17
    /// half steps higher lasts twice as long.
    split_ms: 12.0,
    /// ms, 0 or more. A new pitch that is an octave, a twelfth or a higher partial off lasts for this time longer, because a
    /// partial may be taken for it.
    split_octave_ms: 14.0,
    /// cents, above 0. Largest range of the new pitch over the frames that `split_ms`, `split_periods` and `split_octave_ms` ask for: what
    /// moves further is still on its way.
    split_range: 52.0,
    /// clarity, 0 to 1. Mean clarity of the new pitch over the frames of `split_range`.
    split_clarity: 0.85,
    /// ms, above 0. A change of pitch this soon after the onset corrects the note instead of beginning another: nobody
    /// plays notes so short.
    correct_ms: 30.0,
    /// ms, above 0. A note younger than this that has moved towards the new pitch without a step or a rest glides into it
    /// and is corrected.
    glide_ms: 200.0,
    /// ms, above 0. Length of the pieces of a glide, each of which moves by `glide_cents`.
    glide_span_ms: 20.0,
    /// cents, above 0. Least movement towards the new pitch in every `glide_span_ms` of a glide: what moves less has come
    /// to rest.
    glide_cents: 4.0,
    /// cents, above 0. Least movement of a whole glide; less is the jitter of a still pitch.
    glide_least: 20.0,
    /// cents, above 0. Largest movement from frame to frame within a glide; more is a step to another note.
    glide_step: 22.0,
    /// frames, 0 or more. At the beginning of the note this many frames may lack a pitch or leap, because an attack is
    /// rough.
    glide_rough: 8.0,
    /// share, 0 to 1. A higher pitch counts as heard all along in a frame where its clarity has this share of the best: a
    /// partial was taken for the note, or the note for a partial.
    already_ratio: 0.8,
    /// share, 0 to 1. A new pitch was heard all along when this share of the note's frames had it.
    already_share: 0.4,
    /// ms, above 0. A new pitch that was heard all along corrects a note younger than this; an older note keeps its pitch.
    already_ms: 180.0,
    /// share, 0 to 1. A reed or string spoke an octave low where the octave above had at most this share of the clarity at
    /// first.
    octave_absent: 0.65,
    /// share, 0 to 1. The octave above counts as reached in a frame where it has this share of the clarity.
    octave_ratio: 0.9,
    /// share, 0 to 1. The octave above was the note when it has come in this share of the frames of a short note.
    octave_share: 0.5,
    /// cents, above 0. A change of pitch without a step of this size within two hops may be the swing of a vibrato.
    vibrato_step: 22.0,
    /// clarity, 0 to 1. A change of pitch during which the clarity stayed above this may be the swing of a vibrato: a slur
    /// breaks the wave.
    vibrato_clarity: 0.92,
    /// ms, above 0. A new pitch that may be the swing of a vibrato begins another note after this time: half a cycle of a
    /// slow vibrato is shorter.
    vibrato_ms: 110.0,
    /// cents, above 0. Largest distance of a repeated note from the pitch of the note before.
    repeat_cents: 60.0,
    /// frames, 1 or more. Number of the newest frames within `repeat_cents`, so that the beginning of a slur is no repeat.
    repeat_frames: 3.0,
    /// likelihood, 0 to 1. A note is repeated where its level dips and the onset detector is this sure that one began there.
    repeat_likelihood: 0.8,
    /// dB, above 0. The level falls by this and rises by this round its lowest, or there is no dip.
    repeat_depth: 1.0,
    /// dB, above 0. A dip this deep shows a repeat nearly by itself: `onset_least` takes the place of `repeat_likelihood`.
    repeat_deep: 6.0,
    /// ms, above 0. The lowest level of a dip lies within this time, to which one period is added; a swell is slower.
    repeat_ms: 22.0,
    /// cents, above 0. The pitch has moved where the newest frames lie this far from the note's: a half step tongued flat
    /// does so.
    repeat_moved: 35.0,
    /// ms, above 0. The risen level of a repeat lasts for this time; a click does not.
    repeat_hold_ms: 9.0,
    /// share, 0 to 1. A frame belongs to a note when at most this share of its window lies before the onset.
    repeat_overlap: 0.1,
    /// ms, above 0. The lowest level before a repeat lies at least this long after the onset: nobody tongues faster.
    repeat_valley_ms: 34.0,
    /// dB, above 0. A repeat comes back to within this of the note's loudest level; what stays softer is the ringing of the
    /// old note.
    repeat_back: 10.0,
    /// dB, above 0. The onset is where the sound is first within this of its loudest moment, as one who sees the waveform
    /// would mark it.
    onset_under_peak: 20.0,
    /// ms, above 0. The loudest moment of an attack lies within this time after the onset; bows and soft reeds take so
    /// long.
    onset_span_ms: 300.0,
    /// dB, above 0. A note ends this far below its loudest level.
    release_fall: 22.0,
    /// ms, above 0. A note ends after this time, to which two periods are added, without a frame at its pitch.
    release_unvoiced_ms: 200.0,
    /// frames, 1 or more. A note is announced when this many of the newest frames, or those of one period, agree on its
    /// pitch, whichever are more.
    announce_frames: 4.0,
    /// cents, above 0. Largest range of pitch among the frames of `announce_frames`: the attack has come to rest.
    announce_range: 7.0,
    /// ms, above 0. `announce_long_range` applies to periods longer than this.
    announce_long_ms: 4.5,
    /// cents, above 0. Takes the place of `announce_range` for long periods, which are measured on fewer of them.
    announce_long_range: 16.0,
    /// cents, above 0. Largest distance of the newest pitches (median of up to five) from the reference pitch of a note that is at
    /// rest.
    announce_near: 40.0,
    /// ms, above 0. A note is announced this time after it opened, or two periods where these are longer, even if its pitch is not
    /// at rest: the player waits.
    announce_latest_ms: 60.0,
    /// ms, above 0. A note that begins this soon after the end of another is joined to it, and may be a consonant, a tongue
    /// or a slide away.
    faint_joined_ms: 20.0,
    /// dB, above 0. A joined note softer than the note before by this is faint: it is announced later than others.
    faint_under: 6.0,
    /// ms, above 0. A faint note that began with an attack is announced at this age.
    faint_attack_ms: 45.0,
    /// ms, above 0. A faint note that began without an attack is announced at this age: consonants are shorter.
    faint_ms: 100.0,
    /// periods, above 0. A faint note is announced at an age of this many periods, where that is earlier.
    faint_periods: 40.0,
    /// frames, 1 or more. A faint note without an attack is announced when this many of the newest frames lie within
    /// `announce_range`: no consonant keeps so still.
    faint_frames: 8.0,
    /// ms, above 0. A faint note whose pitch never comes to rest is announced at this age.
    faint_latest_ms: 250.0,
    /// ms, above 0. A note of longer periods than this is announced as any other, because too few of them are heard to wait
    /// for.
    faint_period_ms: 9.0,
    /// dB, above 0. A sound that is joined to a note, is softer than that note by this, and ended before it was announced was no
    /// note.
    unannounced_under: 4.0,
    /// dB, above 0. A slur whose level fell this far below the note before may begin only where it swells again: a
    /// consonant or the tongue lies between.
    swell_fall: 4.0,
    /// dB, above 0. Rise of level, from the lowest and before the note is announced, from which a slur begins where it
    /// swells.
    swell_rise: 5.0,
    /// ms, above 0. A slur begins halfway up its swell where that is this much later than the change of pitch.
    swell_ms: 35.0,
    /// periods, above 0. A slur begins halfway up its swell only where that is this many periods later, too.
    swell_periods: 6.0,
    /// cents, above 0. A slur begins where it swells only if the pitch was this far off at the lowest level, as a
    /// consonant's is.
    swell_cents: 25.0,
    /// likelihood, 0 to 1. Least likelihood that the onset detector gives to the beginning of a note that is reported; 0 leaves it
    /// to the rules above. Made performances that the detector did not learn from ask for .4, but nearly all is won at .05, and
    /// real players sound less like them.
    onset_least: 0.05,
    /// likelihood, 0 to 1. Takes the place of `onset_least` for a note that began without an attack, because the swing of a vibrato
    /// begins so, too. Made performances that the detector did not learn from ask for this value.
    onset_slurred: 0.4,
    /// ms, above 0. A note whose pitch has rested for this time is reported though the onset detector did not hear it begin.
    onset_rest_ms: 80.0,
    /// cents, above 0. Range of pitch within which a note rests.
    onset_rest_range: 20.0,
    /// ms, above 0. The onset detector is asked about a note up to this age: what it says of an onset is known by then.
    sure_until_ms: 150.0,
    /// logarithm of odds. Confidence in a note: the sum begins with this. This and the next four were fitted together, on six draws of
    /// the corpus and on chords and pairs of lines, which are no notes of one instrument.
    sure_base: 0.77,
    /// ratio, 0 or more. Share of the log odds of the detector's likelihood that counts.
    sure_onset: 0.61,
    /// log odds, 0 or more. What a note gains that is wholly clear.
    sure_clear: 1.93,
    /// log odds for each cent, 0 or more. What a note loses by the spread of its pitch.
    sure_spread: 0.0316,
    /// log odds, 0 or more. What a note loses whose pitch YIN does not find.
    sure_yin: 1.23,
}
