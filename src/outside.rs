//! The names that tests and benches use of the private rooms. The compiler takes every name here for used, so `tests/house` fails on
//! a name here that no test and no bench uses.

/// Of the room `backing`.
pub mod backing {
    pub use crate::backing::{BandWish, BassLine, TimeKeeping};
}
/// Of the room `chart`.
pub mod chart {
    pub use crate::chart::{ChordChart, Forms};
}
/// Of the room `coach`.
pub mod coach {
    pub use crate::coach::{
        AnswerEvidence, ApartStage, CHANCE, CameOut, Choice, Divided, DividedAnswer, Goals, HeldOut, Holds,
        LearnerModel, OutOfRange, Plan, Reason, Rng, RoundOrder, Rule, SittingPhase, SittingPlan, Spared, SparedTurn,
        TimeAway, Warned, fewer_right,
    };
}
/// Of the room `cue`.
pub mod cue {
    pub use crate::cue::{
        Cue, CueSound, Form, JoinedPart, Loudness, Rendering, SecondTask, SoftTap, SoundSign, TapSound, Timing, round,
        signs, sound,
    };
}
/// Of the room `devices`.
pub mod devices {
    pub use crate::devices::{
        DeviceChoice, DeviceRequest, Devices, KeyTone, MonotonicClock, Order, OrderSender, PlayId, PortEvent,
        StreamCounters, StreamLiveness, calibrate, capture, error_callback, errors, input_callback, output_callback,
        playback,
    };
}
/// Of the room `drill`.
pub mod drill {
    pub use crate::drill::{
        Command, CueSpan, Drill, Effect, Face, Hints, Input, KeyRow, RestRules, Settings, Snapshot, SparedPart,
        ToScreen,
    };
}
/// Of the room `engine`.
pub mod engine {
    pub use crate::engine::{
        AudioSource, CueOutput, DrillLoop, Hearing, KeySource, Listener, ListeningHooks, MidiEar, MidiPlayer,
        NoteSource, Out, PlacedCue, PlayerEar, SimulatedAudio, judge_again, rendering, trade, trade_again, unattended,
    };
}
/// Of the room `exchange`.
pub mod exchange {
    pub use crate::exchange::{
        ChartSheet, ImportedVoice, Refused, Staff, StaffNote, StaffRequest, answer_to_case, chart_from_musicxml,
        chart_to_musicxml, from_midi, from_musicxml, heard_to_midi, staff, to_midi, to_musicxml,
    };
}
/// Of the room `files`.
pub mod files {
    pub use crate::files::{
        FileErrorKind, KeepSound, Places, Recording, SCHEMA, SessionFolder, Stored, UserSettings, add_comment,
        commented, finish_unfinished, learnt, read_sessions, read_sound, survey, unfinished, write_named, write_wav,
    };
}
/// Of the room `free`.
pub mod free {
    pub use crate::free::{FreeLine, FreeParts, FreeVocabulary, LookedFor};
}
/// Of the room `learn`.
pub mod learn {
    pub use crate::learn::{InferredRoot, LearnError, LineDraft, Pulse, infer_root, played};
}
/// Of the room `midi`.
pub mod midi {
    pub use crate::midi::{LineChoice, MessageReader, Steering, SteeringKey};
}
/// Of the room `music`.
pub mod music {
    pub use crate::music::{
        ChordQuality, ChordSymbol, Concert, ConcertKey, Degree, HalfSteps, Instrument, Intonation, Level, Mode,
        NamedBy, NoteNames, PitchClass, PitchName, Range, Reading, ReflexUnit, Spelled, Spelling, Tonality, Written,
        WrittenKey, chords, fits, instrument, instruments, scale, scales, spell_degree, spell_degree_above, tendency,
    };
}
/// Of the room `notes`.
pub mod notes {
    pub use crate::notes::{Ear, EarSettings, Frame, HeardNote, NoteEvent, Rules, hear_clip};
}
/// Of the room `pattern`.
pub mod pattern {
    pub use crate::pattern::{
        Between, Cycle, ExpectedNote, Family, Library, Line, Meter, Pattern, PatternHeader, PatternId, PatternQuery,
        PatternTrouble, Quality, Register, RhythmFeature, Seam, TempoRange, Ticks, Token, Unwritable, begun_on, check,
        fragments, from_degree, from_line, long_to_short, print, print_file, print_notes, read, realise, split, starts,
        swing_at,
    };
}
/// Of the room `phrase`.
pub mod phrase {
    pub use crate::phrase::{PhraseMaker, Stock};
}
/// Of the room `report`.
pub mod report {
    pub use crate::report::{
        figures, gather, keys_over_days, log, log_to_text, numbered_take, recheck, review, sittings_to_text,
        sittings_to_text_on, to_html, to_text,
    };
}
/// Of the room `room`.
pub mod room {
    pub use crate::room::{Echo, MidiError, Presence, Side, SoundFault};
}
/// Of the room `session`.
pub mod session {
    pub use crate::session::{
        AnswerRecord, BandMark, BandRecord, Began, ChorusRecord, Comment, CountedTaps, Ended, Event, Judgement,
        LessonMark, NamedPlayer, Pause, PauseCause, PlayerId, RecordedPhrase, RecordedSound, Session, SparedRecord,
        TradeMark, Trial, outcome, read, replay, write_line,
    };
}
/// Of the room `simulated`.
pub mod simulated {
    pub use crate::simulated::{
        AnswerClock, PlayedAs, PlayingFault, Profile, SimulatedPlayer, Skill, SoundedAnswer, Timbre, Truth,
    };
}
/// Of the room `sound`.
pub mod sound {
    pub use crate::sound::{
        Clip, InputStretch, Partials, Placement, SoundBlock, SoundFinder, convolve, edge, room_response,
    };
}
/// Of the room `trade`.
pub mod trade {
    pub use crate::trade::{JudgedExchange, Trade, TradeMoment, TradeWay, TradeWish, sound, vamp};
}
/// Of the room `tui`.
pub mod tui {
    pub use crate::tui::{Appearance, Model, Plain, PressedKey, Screen, ScreenEvent, ScreenRequest, draw, run, three};
}
/// Of the room `units`.
pub mod units {
    pub use crate::units::{A440, Beats, Cents, Decibels, Hertz, Midi, SampleRate, Seconds, Tempo, median};
}
/// Of the room `verdict`.
pub mod verdict {
    pub use crate::verdict::{
        Astray, Expectation, Finding, Hesitation, Judge, NoteInTime, NoteLabel, NoteVerdict, PlayedLabel, Reflex,
        RhythmNote, TempoStep, TimeOrigin, Untimed, UsualTuning, VariedAs, Verdict, findings, judge, ready, step,
    };
}
/// Of the room `words`.
pub mod words {
    pub use crate::words::Page;
    /// Of `words::reader`.
    pub mod reader {
        pub use crate::words::reader::Reader;
    }
    /// Of `words::reason`.
    pub mod reason {
        pub use crate::words::reason::sentence;
    }
    /// Of `words::verdict`.
    pub mod verdict {
        pub use crate::words::verdict::sentence;
    }
}
