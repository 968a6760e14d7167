//! What no practice record shows by itself, and what would find it out.

/// What stands above these sentences.
pub const HEAD: &str = "What this cannot know, and what finds it out nine times of ten where it is plain:";
/// What the coach cannot know, in sentences; how many answers it would take is found by planting it
/// (`tests/program/coaching/planted_learners.rs`, `coach/divided.rs`, `report/steadiness_tests.rs`).
pub const UNKNOWN: [&str; 4] = [
    "whether you hear the key or read it: 12 answers with --by-ear, beside 12 with the key shown;",
    "whether you know it at once or need time: 16 answers with --warning-beats 4,0; to know in which key, 240 in all twelve;",
    "whether it holds while the mind is elsewhere: 72 answers with --second-task;",
    "whether it is becoming a reflex: 600 free answers after earfirst calibrate. And whether it comes when you improvise, only you.",
];
