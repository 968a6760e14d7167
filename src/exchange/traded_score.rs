use crate::chart::{Change, Chorus};
use crate::cue::Cue;
use crate::exchange::NoScore;
use crate::exchange::staff::{ChordOnPage, Piece, Staff, StaffBracket, StaffNote, said_by_clef};
use crate::exchange::traded_rhythm::{AnswerOnPage, answer_on_page};
use crate::music::{Clef, Concert, ConcertKey, HalfSteps, Mode, PitchName, Spelled, Spelling, spell_degree_above};
use crate::notes::HeardNote;
use crate::pattern::{ExpectedNote, Line, Meter, Ticks, swing_at};
use crate::units::{Beats, Seconds, Tempo};
use crate::verdict::{Verdict, seams};
use crate::words::Page;

/// Lowest root of a chord on the staff of the chords, as a note number: the G below middle C.
const LOWEST_ROOT: i32 = 55;
/// General MIDI's acoustic grand piano.
const PIANO: u8 = 1;

/// A chorus of a trade, for a score.
pub struct ScoredChorus<'a> {
    /// The number of the chorus, from 1.
    pub number: usize,
    /// The key of the chorus.
    pub key: ConcertKey,
    /// Whether that key is minor.
    pub minor: bool,
    /// What the band played in it.
    pub form: &'a Chorus,
    /// The answers in their order.
    pub answers: Vec<ScoredAnswer<'a>>,
}

/// An answer, for a score.
pub struct ScoredAnswer<'a> {
    /// What was asked.
    pub cue: &'a Cue,
    /// The whole phrase, with even eighths.
    pub phrase: &'a Line,
    /// The bars of the form, in words.
    pub bars: String,
    /// The beat of the chorus on which the phrase began to sound, that on which its bars came again, and that after them.
    pub beats: [Beats; 3],
    /// Whether the player was to vary the phrase.
    pub to_vary: bool,
    /// The notes that were heard, in order.
    pub heard: &'a [HeardNote],
    /// What was said of them; `None` where nothing was.
    pub verdict: Option<&'a Verdict>,
    /// When the bars of the answer began, in the time of the notes: the delay of the devices is in it.
    pub begins: Seconds,
}

/// What a score of a trade needs besides its choruses.
pub struct ScoreHead<'a> {
    /// The title over the score.
    pub title: &'a str,
    /// Quarter notes a minute.
    pub tempo: Tempo,
    /// Whether eighths swing.
    pub swing: bool,
    /// The player's page.
    pub page: &'a Page,
}

/// A trade as two staves: the player's line, and the band's chords as they sound. Every phrase stands where it sounded, the answer over
/// the same bars where they come again, as it was played: its notes in the order in which they were heard. Whole patterns are bracketed
/// above; below, each seam with what is said of it, and the landing. A note stands where the phrase has it, however early or late it
/// came (the words of the trade say that); a note that nobody asked for stands on the sixteenth that is nearest.
///
/// # Errors
/// Where the form has neither three nor four quarters in a bar.
pub fn traded_score(head: &ScoreHead<'_>, choruses: &[ScoredChorus<'_>]) -> Result<[Staff; 2], NoScore> {
    let beats = choruses.first().map_or(4, |chorus| chorus.form.meter);
    let meter = match beats {
        4 => Meter::FourFour,
        3 => Meter::ThreeFour,
        other => return Err(NoScore::Meter(other)),
    };
    let up = said_by_clef(head.page.instrument.clef);
    let concert = head.page.in_concert_pitch();
    let line = choruses.iter().map(|chorus| line_piece(head, chorus, meter, up)).collect();
    let band = choruses.iter().map(|chorus| band_piece(chorus, meter, &concert)).collect();
    let staff = |part: &str, transposition, clef, general_midi, pieces| Staff {
        title: head.title.to_owned(),
        part: part.to_owned(),
        transposition: HalfSteps(transposition),
        clef,
        tempo: head.tempo,
        swing: head.swing,
        general_midi,
        signatures: true,
        pieces,
    };
    let instrument = &head.page.instrument;
    let written = head.page.transposition().0 + up;
    Ok([
        staff(&instrument.name, written, instrument.clef, instrument.general_midi, line),
        staff("Chords", 0, Clef::Treble, PIANO, band),
    ])
}

/// A chorus on a page without notes, chords over it.
fn empty_piece(chorus: &ScoredChorus<'_>, meter: Meter, page: &Page) -> Piece {
    let (key, mode) = home(chorus);
    let tonality = page.tonality(key, mode);
    let minor = if mode == Mode::Minor { " minor" } else { "" };
    Piece {
        key: tonality,
        heading: format!("chorus {} in {}{minor}", chorus.number, page.name(tonality.tonic)),
        signature: tonality.signature(),
        sounding: page.in_concert_pitch().tonality(key, mode),
        chords: Vec::new(),
        symbols: symbols(chorus.form, tonality.tonic),
        notes: Vec::new(),
        stacks: Vec::new(),
        words: Vec::new(),
        brackets: Vec::new(),
        meter,
        pickup: Ticks(0),
        length: Ticks(i64::from(chorus.form.beats()) * Ticks::QUARTER),
    }
}

fn home(chorus: &ScoredChorus<'_>) -> (ConcertKey, Mode) {
    (chorus.key, if chorus.minor { Mode::Minor } else { Mode::Major })
}

/// The chords of a form on a page, where they change.
fn symbols(form: &Chorus, tonic: PitchName) -> Vec<ChordOnPage> {
    let symbol = |change: &Change| {
        let chord = change.place.as_ref().map(|place| place.on(tonic));
        ChordOnPage { at: Ticks(i64::from(change.at) * Ticks::QUARTER), chord }
    };
    form.changes.iter().map(symbol).collect()
}

/// The chords of a chorus as notes: their tones upward from the root.
fn band_piece(chorus: &ScoredChorus<'_>, meter: Meter, page: &Page) -> Piece {
    let mut piece = empty_piece(chorus, meter, page);
    for (symbol, change) in piece.symbols.iter().zip(&chorus.form.changes) {
        let Some(chord) = &symbol.chord else { continue };
        let root = chord.root.at(LOWEST_ROOT + (chord.root.class().get() - LOWEST_ROOT).rem_euclid(12));
        let mut tones: Vec<Spelled> =
            chord.quality.degrees().into_iter().map(|tone| spell_degree_above(root, tone)).collect();
        tones.sort_by_key(|tone| tone.midi());
        let length = Ticks(i64::from(change.beats) * Ticks::QUARTER);
        piece.notes.push(StaffNote { written: root, concert: Concert(root.midi()), at: symbol.at, length });
        piece.stacks.push(tones.into_iter().filter(|tone| *tone != root).collect());
    }
    piece
}

/// The player's line of a chorus: each phrase as it was asked, and the answer.
fn line_piece(head: &ScoreHead<'_>, chorus: &ScoredChorus<'_>, meter: Meter, up: i32) -> Piece {
    let page = head.page;
    let mut piece = empty_piece(chorus, meter, page);
    let (key, mode) = home(chorus);
    let spelling = Spelling { mode, chromatic: true };
    let written = |name: Spelled| Spelled { octave: name.octave - up / 12, ..name };
    for answer in &chorus.answers {
        let [sounded, answered, ends] = answer.beats.map(Ticks::nearest);
        let asked = |note: &ExpectedNote| StaffNote {
            written: written(page.expected(note, key, spelling)),
            concert: note.pitch,
            at: Ticks(sounded.0 + Ticks::nearest(note.at).0),
            length: Ticks::nearest(note.length),
        };
        let phrase: Vec<StaffNote> = answer.phrase.notes.iter().map(asked).collect();
        let whole = phrase.len().saturating_sub(answer.cue.line.notes.len());
        piece.words.push((sounded, format!("asked: {}", answer.bars)));
        piece.words.push((answered, what_is_played(answer, whole).to_owned()));
        piece.brackets.extend(patterns(answer.cue, phrase.get(whole..).unwrap_or_default()));
        let shown = AnswerOnPage {
            asked: answer.phrase.notes.get(whole..).unwrap_or_default(),
            long_to_short: head.swing.then(|| swing_at(head.tempo)),
            length: Ticks(ends.0 - answered.0),
        };
        let places = answer_on_page(&shown, answer.heard, answer.verdict, &|at| {
            Beats((at - answer.begins).0 / head.tempo.beat().0)
        });
        let played = answer.heard.iter().zip(&places).map(|(note, (at, length))| {
            let pitch = Concert(note.pitch.nearest());
            let name = asked_name(answer, note, pitch, key, page, spelling);
            StaffNote { written: written(name), concert: pitch, at: Ticks(answered.0 + at.0), length: *length }
        });
        let played: Vec<StaffNote> = played.collect();
        piece.brackets.extend(below(answer, &phrase, &played, whole));
        piece.notes.extend(phrase);
        piece.notes.extend(played);
    }
    piece.notes.sort_by_key(|note| note.at.0);
    piece.brackets.sort_by_key(|bracket| bracket.from.0);
    piece
}

/// A right note has the name of the note that was asked.
fn asked_name(
    answer: &ScoredAnswer<'_>,
    note: &HeardNote,
    pitch: Concert,
    key: ConcertKey,
    page: &Page,
    spelling: Spelling,
) -> Spelled {
    let place = answer.heard.iter().position(|other| other.number == note.number && other.onset == note.onset);
    let expected = answer.verdict.into_iter().flat_map(|verdict| &verdict.expected).position(|it| it.heard == place);
    let asked = expected.filter(|_| place.is_some()).and_then(|n| answer.cue.line.notes.get(n));
    match asked.filter(|asked| asked.pitch == pitch) {
        Some(asked) => page.expected(asked, key, spelling),
        None => page.spelled(pitch, key, spelling),
    }
}

/// What stands over the answer; the notes before `asked` were sounded and not asked.
const fn what_is_played(answer: &ScoredAnswer<'_>, asked: usize) -> &'static str {
    match (answer.to_vary, asked) {
        (true, _) => "played: a variation",
        (_, 0) => "played",
        _ => "played: the second half",
    }
}

/// The whole patterns of what is asked, bracketed above its notes.
fn patterns<'e>(cue: &'e Cue, asked: &'e [StaffNote]) -> impl Iterator<Item = StaffBracket> + use<'e> {
    cue.joined.iter().filter_map(|part| {
        let (first, last) = (asked.get(part.first)?, asked.get(part.last)?);
        Some(bracket([first, last], part.title.clone(), true, "solid"))
    })
}

/// The seams and the landing, of what was asked and of what was played, where that note was heard.
fn below(answer: &ScoredAnswer<'_>, phrase: &[StaffNote], played: &[StaffNote], whole: usize) -> Vec<StaffBracket> {
    let notes = answer.cue.seam_notes();
    let found = answer.verdict.map(|verdict| seams(&notes, verdict)).unwrap_or_default();
    let heard = |n: usize| played.get(answer.verdict?.expected.get(n)?.heard?);
    let mut all = Vec::new();
    for n in &notes {
        let asked = n.checked_sub(1).and_then(|before| Some([phrase.get(whole + before)?, phrase.get(whole + n)?]));
        all.extend(asked.map(|of| bracket(of, "seam".to_owned(), false, "dashed")));
        let came = n.checked_sub(1).and_then(|before| Some([heard(before)?, heard(*n)?]));
        let words = match found.iter().find(|seam| seam.note == *n) {
            Some(seam) if seam.stands_out => {
                let by = seam.gap.map_or(0.0, |gap| gap.ms());
                format!("seam, {:.0} ms {}", by.abs(), if by > 0.0 { "late" } else { "rushed" })
            }
            _ => "seam".to_owned(),
        };
        all.extend(came.map(|of| bracket(of, words, false, "dashed")));
    }
    let last = answer.cue.line.notes.len().checked_sub(1);
    let landing = [phrase.last(), last.and_then(heard)];
    all.extend(landing.into_iter().flatten().map(|note| bracket([note, note], "landing".to_owned(), false, "solid")));
    all
}

fn bracket([first, last]: [&StaffNote; 2], words: String, above: bool, line_type: &'static str) -> StaffBracket {
    StaffBracket { from: first.at, to: Ticks(last.at.0 + last.length.0), words, above, line_type }
}
