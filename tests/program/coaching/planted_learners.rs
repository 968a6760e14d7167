//! Learners with something planted in them, and whether what the program looks at finds it: one who reads the key from the screen, one who
//! begins before the key is known, and one who is automatic in C only. Nothing may be found, more often than once in twenty, in those
//! who have nothing of it. The tables of `benches/FIGURES.md`:
//! `EARFIRST_LONGER=1 cargo test --test program planted_learners -- --nocapture`.

use earfirst::outside::coach::{CHANCE, Divided, DividedAnswer, Rng, Warned, fewer_right};
use earfirst::outside::cue::Form;
use earfirst::outside::drill::Settings;
use earfirst::outside::music::ConcertKey;
use earfirst::outside::pattern::PatternId;
use earfirst::outside::report::{figures, log, log_to_text, review, to_text};
use earfirst::outside::session::Session;
use earfirst::outside::units::{Seconds, Tempo};

use crate::desk::Desk;
use crate::rehearsal::{Player, Rehearsal, faithful, settings};

/// Whoever does not know the key hits it by chance.
const ONE_OF_TWELVE: f64 = 1.0 / 12.0;

fn longer() -> bool {
    std::env::var_os("EARFIRST_LONGER").is_some()
}

/// How many players are drawn, and by how much a share of so few may be off (three standard errors at .9).
fn draws() -> (u32, f64) {
    if longer() { (4000, 0.015) } else { (400, 0.045) }
}

/// In what share of the draws it is found.
fn share(of: u32, mut found: impl FnMut(&mut Rng) -> bool) -> f64 {
    let mut rng = Rng::new(u64::from(of) + 17);
    f64::from((0..of).filter(|_| found(&mut rng)).count() as u32) / f64::from(of)
}

/// So many answers, each right as likely as this.
fn right(rng: &mut Rng, likely: f64, of: u32) -> (u32, u32) {
    ((0..of).filter(|_| rng.uniform() < likely).count() as u32, of)
}

#[test]
fn who_reads_the_key_from_the_screen_is_found_by_twelve_answers_by_ear_beside_twelve_shown() {
    let (draws, off) = draws();
    let found = |each: u32, by_ear: f64, shown: f64| {
        share(draws, |rng| fewer_right(right(rng, by_ear, each), right(rng, shown, each), CHANCE))
    };
    for each in if longer() { &[4, 6, 8, 12, 16, 24][..] } else { &[12][..] } {
        // With the key shown .7 to .95 are right. "Hears": as many by ear. "Half": by ear every other key is known.
        let reads = [0.7, 0.8, 0.9, 0.95].map(|shown| found(*each, ONE_OF_TWELVE, shown));
        let hears = [0.3, 0.5, 0.7, 0.9].map(|shown| found(*each, shown, shown));
        let half = found(*each, 0.5, 0.9);
        println!(
            "{each} and {each} | reads, shown .7 .8 .9 .95 {reads:.3?} | hears, .3 .5 .7 .9 {hears:.3?} | half {half:.3}"
        );
        assert!(hears.iter().all(|share| *share <= 0.05 + off), "{hears:?}");
        assert!(*each < 12 || reads.iter().all(|share| *share >= 0.9 - off), "{reads:?}");
    }
}

#[test]
fn who_begins_before_the_key_is_known_is_found_by_eight_answers_to_each_warning() {
    let (draws, off) = draws();
    // The key is known a second and more after it is told: at a quarter = 120 with four beats' warning, and with none of the others.
    let counted = |rng: &mut Rng, each: u32, known: [f64; 4]| {
        let mut warned = Warned::default();
        for (warning, known) in [4, 2, 1, 0].into_iter().zip(known) {
            let (right, of) = right(rng, known, each);
            warned.enter_all(warning, right, of);
        }
        warned
    };
    let sinks = |warned: &Warned| {
        let shares = warned.shares();
        let (most, least) = (shares[0], shares[3]);
        fewer_right((least.right, least.of), (most.right, most.of), CHANCE)
    };
    let early = [0.9, ONE_OF_TWELVE, ONE_OF_TWELVE, ONE_OF_TWELVE];
    for each in if longer() { &[4, 6, 8, 12, 16, 24, 40][..] } else { &[8, 40][..] } {
        let found = share(draws, |rng| sinks(&counted(rng, *each, early)));
        let made_up = [0.5, 0.7, 0.9, 0.98].map(|known| share(draws, |rng| sinks(&counted(rng, *each, [known; 4]))));
        let reflex = share(draws, |rng| counted(rng, *each, early).shortest().no_longer_than.is_some_and(|it| it < 4));
        let ruled_out =
            share(draws, |rng| counted(rng, *each, early).shortest().no_shorter_than.is_none_or(|it| it >= 4));
        let wronged = share(draws, |rng| counted(rng, *each, [0.95; 4]).shortest().no_shorter_than != Some(0));
        let shown = share(draws, |rng| counted(rng, *each, [0.98; 4]).shortest().no_longer_than == Some(0));
        println!(
            "{each} to each warning | begins early: found {found:.3}, needs 4 beats {ruled_out:.3}, taken for a reflex {reflex:.3} | \
             as right with any warning (.5 .7 .9 .98): found {made_up:.3?} | right in .95: a warning ruled out {wronged:.3} | right in .98: \
             shown enough with none {shown:.3}"
        );
        assert!(made_up.iter().all(|share| *share <= 0.05 + off) && reflex <= 0.01 && wronged <= 0.05, "{made_up:?}");
        assert!(*each < 8 || (found >= 0.9 - off && ruled_out >= 0.9 - off), "{found} {ruled_out}");
        assert!(*each < 40 || shown >= 0.9 - off, "{shown}");
    }
}

#[test]
fn who_is_automatic_in_c_only_is_found_by_ten_answers_a_key_told_on_the_beat() {
    let (draws, off) = draws();
    // Every key is looked at beside the eleven others, so that any of them is made up once in twenty.
    let ahead = |rng: &mut Rng, each: u32, c: f64, elsewhere: f64| {
        let keys: Vec<(u32, u32)> = (0..12).map(|key| right(rng, if key == 0 { c } else { elsewhere }, each)).collect();
        let all = keys.iter().fold((0, 0), |all, it| (all.0 + it.0, all.1 + it.1));
        let others = |it: &(u32, u32)| (all.0 - it.0, all.1 - it.1);
        keys.iter().map(|it| fewer_right(others(it), *it, CHANCE / 12.0)).collect::<Vec<bool>>()
    };
    for each in if longer() { &[4, 6, 8, 10, 12, 16][..] } else { &[10][..] } {
        let found = [ONE_OF_TWELVE, 0.2, 0.3, 0.5].map(|elsewhere| {
            share(draws, |rng| {
                let told = ahead(rng, *each, 0.95, elsewhere);
                told[0] && told[1..].iter().all(|it| !it)
            })
        });
        let made_up = [0.1, 0.3, 0.9].map(|all| share(draws, |rng| ahead(rng, *each, all, all).contains(&true)));
        println!("{each} a key | C .95, elsewhere .08 .2 .3 .5: {found:.3?} | all alike .1 .3 .9: {made_up:.3?}");
        assert!(made_up.iter().all(|share| *share <= 0.05 + off), "{made_up:?}");
        assert!(*each < 10 || found[..3].iter().all(|share| *share >= 0.9 - off), "{found:?}");
    }
}

/// Answers of two blocks of each kind in these keys, of a player who is late by `cost` in each while counting.
fn beside_taps(rng: &mut Rng, keys: usize, pairs: u32, cost: f64) -> Divided {
    let mut divided = Divided::default();
    for _ in 0..pairs {
        for key in 0..keys {
            for counting in [true, false] {
                let about: f64 = (0..12).map(|_| rng.uniform()).sum::<f64>() - 6.0;
                let late = 0.03 * about + if counting { cost } else { 0.0 };
                divided.enter(DividedAnswer {
                    pattern: PatternId("a".to_owned()),
                    key: ConcertKey::FIFTHS[key],
                    counting,
                    whole: true,
                    late: Some(Seconds(late)),
                    uneven: None,
                });
            }
        }
    }
    divided
}

#[test]
fn who_is_unbothered_by_the_second_task_in_c_only_is_found_by_twelve_pairs_there_and_sixty_elsewhere() {
    let (draws, off) = draws();
    // Found: elsewhere a cost is shown, and the whole interval of C lies below that of the other keys.
    let apart = |rng: &mut Rng, pairs: u32, c: f64, elsewhere: f64| {
        let (here, there) = (beside_taps(rng, 1, pairs, c).cost(), beside_taps(rng, 5, pairs, elsewhere).cost());
        let (Some(here), Some(found)) = (here.of_late().between, there.of_late().between) else { return false };
        there.of_late().shown() == Some(true) && here.1 < found.0
    };
    for pairs in if longer() { &[6, 8, 12, 16, 24][..] } else { &[12][..] } {
        let found = [0.04, 0.06, 0.08].map(|elsewhere| share(draws, |rng| apart(rng, *pairs, 0.0, elsewhere)));
        let made_up = [0.0, 0.06].map(|all| share(draws, |rng| apart(rng, *pairs, all, all)));
        println!(
            "{pairs} pairs a key, six keys | later elsewhere by 40, 60, 80 ms: {found:.3?} | alike by 0, 60 ms: {made_up:.3?}"
        );
        assert!(made_up.iter().all(|share| *share <= 0.05), "{made_up:?}");
        assert!(*pairs < 12 || found[1..].iter().all(|share| *share >= 0.9 - off), "{found:?}");
    }
}

fn sat(settings: Settings, player: Player, cues: usize) -> Session {
    let mut room = Rehearsal::new(settings, player);
    room.run_until(|room| room.cues.len() > cues);
    Session::from_events(&room.events).unwrap()
}

/// A player who plays in the asked key where `knows` says so, else in a key that is no other's turn.
fn who(knows: impl Fn(&earfirst::outside::cue::Cue) -> bool + 'static) -> Player {
    let (mut whole, mut n) = (faithful(0.02), 0usize);
    Box::new(move |cue, end, beat| {
        n += 1;
        let off = if knows(cue) { 0.0 } else { [3.0, -2.0, 5.0, -4.0][n % 4] };
        whole(cue, end, beat).into_iter().map(|(at, length, pitch)| (at, length, pitch + off)).collect()
    })
}

#[test]
fn through_the_whole_drill_the_log_tells_the_one_who_reads_from_the_one_who_hears() {
    let drill = |by_ear: bool| {
        let mut asked = settings("major-triad-up", Form::Pattern, &ConcertKey::FIFTHS);
        asked.plan.first_tempo = Tempo(140.0);
        Settings { by_ear, ..asked }
    };
    let told = |hears: bool| {
        let sittings: Vec<_> =
            [false, true].map(|by_ear| figures(&sat(drill(by_ear), who(move |cue| hears || !cue.by_ear), 32))).into();
        log_to_text(&log(&sittings, 20_000), 20_000).split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let (reads, hears) = (told(false), told(true));
    assert!(reads.contains("so far the eye helps"), "{reads}");
    assert!(hears.contains("nothing shows that the eye helps") && !hears.contains("so far the eye"), "{hears}");
}

#[test]
fn through_the_whole_drill_the_review_names_the_early_guesser_and_the_one_key_that_comes_by_itself() {
    let c = ConcertKey::FIFTHS[0];
    let drill = || {
        let mut asked = settings(
            "major-triad-up",
            Form::Chord,
            &[c, ConcertKey::FIFTHS[4], ConcertKey::FIFTHS[7], ConcertKey::FIFTHS[9]],
        );
        asked.plan.first_tempo = Tempo(140.0);
        Settings { timing: earfirst::outside::cue::Timing::InTempo, warnings: vec![4, 0], ..asked }
    };
    let told =
        |player: Player| to_text(&review(&[sat(drill(), player, 64)])).split_whitespace().collect::<Vec<_>>().join(" ");
    let guessed = "the key was guessed, or thought out too late";
    let early = told(who(|cue| cue.warning == Some(4)));
    assert!(early.contains(guessed) && !early.contains("than in all other keys"), "{early}");
    let in_c = told(who(move |cue| cue.warning == Some(4) || cue.key == c));
    assert!(in_c.contains(guessed) && in_c.contains("more often than in all other keys together: D."), "{in_c}");
    let knows = told(who(|_| true));
    assert!(!knows.contains(guessed) && !knows.contains("than in all other keys"), "{knows}");
}

#[test]
fn the_coach_says_what_it_cannot_know_and_how_many_answers_it_takes() {
    let told = Desk::new("unknown").done("coach major-triad-up --instrument trumpet");
    for unknown in ["12 answers with --by-ear", "16 answers with --warning-beats 4,0", "72 answers", "600 free answers"]
    {
        assert!(told.contains(unknown), "{unknown} in {told}");
    }
}
