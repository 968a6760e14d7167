//! Arguments as typed. What they mean is worked out in `cli/resolve` and in each command's own file.

pub mod analyse;
pub mod charts;
mod choices;
mod demo;
pub mod lesson;
mod note_names;
pub mod patterns;
mod review;
#[cfg(feature = "school")]
mod tables;
mod to_teach;
pub mod today;
pub mod trade;

pub use choices::{Compass, CueForm, Keep, RoundTyped, Third};
pub use demo::Demo;
pub use note_names::NamesIn;
pub use review::{ForgetTyped, LogTyped, ReviewTyped};
#[cfg(feature = "school")]
pub use tables::TablesTyped;
pub use to_teach::ToTeach;

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand};

use crate::cli::args::analyse::AnalyseTyped;
use crate::cli::args::charts::ChartCommands;
use crate::cli::args::lesson::{ClassTyped, LessonCommands};
use crate::cli::args::patterns::Patterns;
use crate::cli::args::today::TodayTyped;
use crate::cli::args::trade::TradeTyped;

/// A practice partner: it sounds a short pattern, you answer on your own instrument, it says truthfully what was right,
/// how quick and how in tune, and brings weak keys back.
#[derive(Debug, Parser)]
#[command(
    name = "earfirst",
    version,
    after_help = "Example: earfirst demo        (no instrument and no microphone needed)"
)]
pub struct Arguments {
    /// What to do; without it, the practice room opens: the plan of today, or the lesson that your teacher set.
    #[command(subcommand)]
    pub command: Option<TypedCommand>,
}

/// One command each.
#[derive(Debug, Subcommand)]
pub enum TypedCommand {
    /// Practise at once: a cue sounds, you answer, the verdict stands, the next key comes. In rests some are to be sung or fingered.
    #[command(after_help = "Example: earfirst drill diatonic-thirds-up --instrument trumpet --minutes 20")]
    Drill(DrillTyped),
    /// A plan for the minutes there are: low and easy first, what comes back, one new thing, joined phrases; said, and kept to. A
    /// teacher's lesson comes before it.
    #[command(after_help = "Example: earfirst today --minutes 20 --show")]
    Today(TodayTyped),
    /// The same drill with a simulated player: real audio through the real pipeline, no device needed.
    #[command(after_help = "Example: earfirst demo --fast --plain --seed 7 --minutes 3")]
    Demo(Demo),
    /// Trade fours over a form: patterns you hold, joined to a phrase, sound over a soft band; you answer over the same bars.
    #[command(
        after_help = "Examples: earfirst trade blues-ii-v --key Eb --bars 4\n          earfirst trade ii-v-i --moves fourths --choruses 12 --up-to 2\n          earfirst trade \"| Dm7 | G7 | Cmaj7 | % |\" --patterns broken-triad,1-2-3-5-cell-minor --show\n          earfirst trade blues --simulated --fast"
    )]
    Trade(TradeTyped),
    /// Sound check: level, noise, the note that is heard; says what to change. Of a MIDI instrument: its notes.
    #[command(after_help = "Example: earfirst hear --instrument alto-sax")]
    Hear(Hear),
    /// Measure the delay from loudspeaker to microphone and keep it; a MIDI instrument needs none.
    #[command(after_help = "Example: earfirst calibrate")]
    Calibrate(Calibrate),
    /// List inputs, outputs and MIDI instruments, and which would be used.
    #[command(after_help = "Example: earfirst devices --json")]
    Devices(Json),
    /// A recording or a MIDI file to notes, as tab-separated text.
    #[command(after_help = "Example: earfirst notes take.wav")]
    Notes(Notes),
    /// A verdict on a recording or a MIDI file.
    #[command(
        after_help = "Example: earfirst grade take.wav --pattern five-note-row-up-and-down --key Eb --instrument trumpet --tempo 96"
    )]
    Grade(Grade),
    /// Free playing taken apart: what ran stepwise, by half steps, by skips; which patterns came out; over which chords. Told, never graded.
    #[command(
        after_help = "Examples: earfirst analyse chorus.wav --instrument trumpet --tempo 132\n          earfirst analyse chorus.wav --chart blues-ii-v --key Eb --tempo 132\n          earfirst analyse take.mid --patterns broken-triad,1-2-3-5-cell-minor\n          earfirst analyse chorus.wav --learn 1 --name my-turn"
    )]
    Analyse(AnalyseTyped),
    /// The library of patterns.
    #[command(after_help = "Example: earfirst patterns list --family skips")]
    Patterns(Patterns),
    /// Chord charts: the forms of the tradition in every key, and your own.
    #[command(after_help = "Example: earfirst charts show blues-ii-v --key Eb")]
    Charts(ChartCommands),
    /// What a teacher asks first, of a sitting or a folder of them.
    #[command(after_help = "Example: earfirst review sessions/")]
    Review(ReviewTyped),
    /// A lesson for your students: what to practise, on how many days, by when.
    #[command(subcommand)]
    Lesson(LessonCommands),
    /// A line a player of a class: who needs help first, and why; what of a lesson is done.
    #[command(after_help = "Example: earfirst class students/ --lesson week.toml")]
    Class(ClassTyped),
    /// The records of a class as tables for a database, without names: sittings, answers and notes, by class and month.
    #[cfg(feature = "school")]
    #[command(after_help = "Example: earfirst tables students/ --to tables --class brass")]
    Tables(TablesTyped),
    /// Your weeks at a glance: sound and rests, what was practised, what was kept, what comes back.
    #[command(after_help = "Example: earfirst log --player Anna")]
    Log(LogTyped),
    /// Remove a sitting, or all of a player; lists what would go until you add --yes.
    #[command(after_help = "Example: earfirst forget Anna")]
    Forget(ForgetTyped),
    /// What would come next today, per pattern and key, and why.
    #[command(after_help = "Example: earfirst coach --instrument trumpet")]
    Coach(Coach),
    /// Print a completion script for a shell.
    #[command(after_help = "Example: earfirst completions bash > ~/.local/share/bash-completion/completions/earfirst")]
    Completions {
        /// Which shell.
        shell: clap_complete::Shell,
    },
}

/// Who plays, and what may be asked.
#[derive(Debug, Clone, Default, Args)]
pub struct Player {
    /// Your instrument, such as trumpet, alto-sax, guitar (default: the one of your settings).
    #[arg(long, short)]
    pub instrument: Option<String>,
    /// Written keys, such as "C G D" or "all" (with --concert: sounding keys).
    #[arg(long, value_name = "KEYS")]
    pub keys: Option<String>,
    /// Lowest and highest note you are comfortable with, written, such as "G3 C6".
    #[arg(long, value_name = "LOW HIGH")]
    pub range: Option<String>,
    /// The instrument's usual compass for a student, a working or a professional player, where no range is given.
    #[arg(long, value_enum, conflicts_with = "range")]
    pub compass: Option<Compass>,
    /// Read and show sounding instead of written pitch.
    #[arg(long)]
    pub concert: bool,
    /// Frequency of A4 in hertz, 415 to 466.
    #[arg(long, value_name = "HZ")]
    pub a4: Option<f64>,
    /// Gb instead of F#.
    #[arg(long)]
    pub g_flat: bool,
    /// Language of the names of notes and keys, shown and typed.
    #[arg(long, value_enum, value_name = "LANGUAGE")]
    pub note_names: Option<NamesIn>,
}

/// What a sitting may ask.
#[derive(Debug, Clone, Default, Args)]
pub struct Scope {
    /// Patterns by name; see `earfirst patterns list`.
    pub patterns: Vec<String>,
    /// Who plays.
    #[command(flatten)]
    pub player: Player,
    /// Your name or a pseudonym, or the beginning of your id (default: the first player of your settings).
    #[arg(long = "player", value_name = "NAME")]
    pub player_name: Option<String>,
    /// What is sounded before an answer.
    #[arg(long, value_enum)]
    pub cue: Option<CueForm>,
    /// First tempo, quarter notes a minute.
    #[arg(long, value_name = "QUARTERS")]
    pub tempo: Option<f64>,
    /// Tempo to reach, quarter notes a minute.
    #[arg(long, value_name = "QUARTERS")]
    pub goal: Option<f64>,
    /// Only this register of your range.
    #[arg(long, value_enum)]
    pub register: Option<Third>,
    /// Length of the sitting.
    #[arg(long, allow_negative_numbers = true)]
    pub minutes: Option<f64>,
    /// Begin with the written keys you know; one more joins when they hold.
    #[arg(long, value_name = "KEYS")]
    pub known: Option<String>,
}

/// What is practised, and how.
#[derive(Debug, Clone, Default, Args)]
pub struct Practice {
    /// What.
    #[command(flatten)]
    pub scope: Scope,
    /// Hold a written key out of practice for four weeks, or until a date ("Ab 2026-12-27"), and be asked it once a week: does it come
    /// all the same? "none" holds none out any longer.
    #[arg(long, value_name = "KEY [DATE]")]
    pub hold_out: Option<String>,
    /// Practise just what a teacher's lesson asks.
    #[arg(long, value_name = "FILE", conflicts_with_all = ["patterns", "keys", "cue", "tempo", "goal", "register", "minutes", "known", "seed", "warning_beats", "hold_out", "round", "by_ear", "second_task"])]
    pub lesson: Option<PathBuf>,
    /// The click goes on through the answer.
    #[arg(long)]
    pub click: bool,
    /// Tell each key only 0 to 4 beats before the answer is due, such as 4,2,1,0, one try each, to find out how little time is enough.
    #[arg(long, value_name = "BEATS", value_delimiter = ',', value_parser = clap::value_parser!(u32).range(0..=4))]
    pub warning_beats: Vec<u32>,
    /// Through the keys without a stop, on the click: a cue, its answer, the next cue; what was not right is told at the end of the
    /// round and comes first in the next. Several patterns come in turn.
    #[arg(long, value_enum, value_name = "ORDER", conflicts_with = "warning_beats")]
    pub round: Option<RoundTyped>,
    /// The last minutes are a round: only a plan of the day asks for it.
    #[arg(skip)]
    pub closing_round: bool,
    /// A soft band plays under the round; wear headphones.
    #[arg(long, requires = "round")]
    pub vamp: bool,
    /// The mind elsewhere: of soft wood and brush beside your answers you count one in half of the blocks of six, are asked the number
    /// (play so many notes, or press the digit), and let both pass in the others. What counting costs is told with its spread, and
    /// whether you counted. Practice at two things at once may only make you good at these two.
    #[arg(long, conflicts_with_all = ["warning_beats", "round", "by_ear"])]
    pub second_task: bool,
    /// By ear alone: the key is told by its sound; neither key nor pattern is shown
    /// before the answer. Wood and brush tell the rest ("patterns sound signs"):
    ///   one brush, rising     listen
    ///   two dry taps          your turn (in tempo: the beat before it)
    ///   short brush, knock    early, or too quick; then one of the four woods
    ///   knock, short brush    late, or too slow; then the woods
    ///   brushes, unevenly     uneven or another rhythm; then the woods
    ///   woods, quickening     up in tempo
    ///   the same, one more    all right; the tempo is as high as is asked
    ///   woods, evenly         the same tempo
    ///   woods, slowing        slower
    ///   one long brush        it waits; hold a note for a second to go on
    ///   two brushes, rising   it goes on
    ///   a brush that swells   sing the next cue; two: finger it in silence
    ///   two long brushes      it rests, and goes on by itself
    ///   three long brushes    the end
    /// No wood: it was another line, and another cue comes. A note held for three
    /// seconds between an answer and the next cue pauses; for six it rests for a
    /// minute; for nine it ends. So does, at any time, one lower than all that is
    /// asked, if it is held twice as long as the longest note of that.
    #[arg(long, verbatim_doc_comment)]
    pub by_ear: bool,
    /// Which sound to keep on this machine; where nobody was asked yet and nobody is there, none is.
    #[arg(long, value_enum)]
    pub keep_sound: Option<Keep>,
    /// One line an event instead of a screen.
    #[arg(long)]
    pub plain: bool,
    /// Seed of the generator; the same seed and answers give the same sitting.
    #[arg(long)]
    pub seed: Option<u64>,
}

/// `drill`.
#[derive(Debug, Clone, Default, Args)]
pub struct DrillTyped {
    /// What and how.
    #[command(flatten)]
    pub practice: Practice,
    /// Microphone or MIDI instrument.
    #[arg(long, help = choices::INPUT)]
    pub input: Option<String>,
    /// Output device.
    #[arg(long)]
    pub output: Option<String>,
}

/// `hear`.
#[derive(Debug, Clone, Default, Args)]
pub struct Hear {
    /// Who plays.
    #[command(flatten)]
    pub player: Player,
    /// Microphone or MIDI instrument.
    #[arg(long, help = choices::INPUT)]
    pub input: Option<String>,
    /// Stop after this many seconds.
    #[arg(long)]
    pub seconds: Option<f64>,
    /// Check a recording instead of the microphone.
    #[arg(long, value_name = "FILE")]
    pub file: Option<PathBuf>,
    /// The note the run begins on, as on your page: where the instrument stands half of a half step off.
    #[arg(long, value_name = "NOTE")]
    pub begins_on: Option<String>,
    /// Keep a key or a pedal of the MIDI instrument, pressed once now, for what it shall mean in a drill.
    #[arg(long, value_enum, value_name = "MEANING", conflicts_with_all = ["file", "json", "seconds", "begins_on"])]
    pub teach: Option<ToTeach>,
    /// For machines.
    #[arg(long)]
    pub json: bool,
}

/// `calibrate`.
#[derive(Debug, Clone, Default, Args)]
pub struct Calibrate {
    /// Input device.
    #[arg(long)]
    pub input: Option<String>,
    /// Output device.
    #[arg(long)]
    pub output: Option<String>,
    /// For machines.
    #[arg(long)]
    pub json: bool,
}

/// Only `--json`.
#[derive(Debug, Clone, Default, Args)]
pub struct Json {
    /// For machines.
    #[arg(long)]
    pub json: bool,
}

/// `notes`.
#[derive(Debug, Clone, Args)]
pub struct Notes {
    /// A recording: WAV, AIFF, CAF, FLAC, MP3, M4A or Ogg Vorbis; or a MIDI file.
    #[arg(required = true)]
    pub files: Vec<PathBuf>,
    /// Frames instead of notes.
    #[arg(long)]
    pub frames: bool,
    /// Search the sounding range of this instrument only.
    #[arg(long, short)]
    pub instrument: Option<String>,
    /// Frequency of A4 in hertz, 415 to 466.
    #[arg(long, value_name = "HZ")]
    pub a4: Option<f64>,
    /// Write the notes of one recording to this MIDI file instead.
    #[arg(long, value_name = "OUT", conflicts_with_all = ["frames", "json", "into"])]
    pub midi: Option<PathBuf>,
    /// Write NAME.tsv for each recording into this folder instead of printing.
    #[arg(long, value_name = "FOLDER")]
    pub into: Option<PathBuf>,
    /// For machines.
    #[arg(long)]
    pub json: bool,
}

/// `grade`.
#[derive(Debug, Clone, Args)]
pub struct Grade {
    /// A recording or a MIDI file; not with --notes or --json-lines.
    #[arg(conflicts_with_all = ["notes", "json_lines"])]
    pub file: Option<PathBuf>,
    /// Pattern by name.
    #[arg(long)]
    pub pattern: Option<String>,
    /// Written key (with --concert: sounding).
    #[arg(long)]
    pub key: Option<String>,
    /// Who plays.
    #[command(flatten)]
    pub player: Player,
    /// Asked tempo, quarter notes a minute (usual: 96).
    #[arg(long)]
    pub tempo: Option<f64>,
    /// Register the pattern was asked in.
    #[arg(long, value_enum)]
    pub register: Option<Third>,
    /// Grade a list of notes, as `earfirst notes` prints it.
    #[arg(long, value_name = "TSV", conflicts_with = "json_lines")]
    pub notes: Option<PathBuf>,
    /// Read cases from standard input, one JSON object a line.
    #[arg(long)]
    pub json_lines: bool,
    /// For machines.
    #[arg(long)]
    pub json: bool,
}

/// `coach`.
#[derive(Debug, Clone, Args)]
pub struct Coach {
    /// What a drill would be begun with.
    #[command(flatten)]
    pub scope: Scope,
    /// Be driven on standard input, one JSON object a line.
    #[arg(long)]
    pub json_lines: bool,
    /// Seed of the generator.
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
}
