//! Twelve simulated players over thirty days in sound, by the command that a teacher would type. The results are read off the picture
//! that the command prints.

use std::thread;

use crate::desk::Desk;

/// The instrument of each player. All players are best in written C, which sounds as five different keys on these instruments; and every
/// timbre of the simulated player is among them.
const PLAYERS: [&str; 12] = [
    "trumpet",
    "alto-sax",
    "flute",
    "trombone",
    "violin",
    "guitar",
    "clarinet",
    "horn",
    "tenor-sax",
    "tenor-voice",
    "vibraphone",
    "a-clarinet",
];

/// Whether the longer check runs (`EARFIRST_LONGER`): all twelve players for thirty days, which takes a core about a minute for each in a
/// release build. Otherwise only the first plays, for four days.
fn longer() -> bool {
    std::env::var_os("EARFIRST_LONGER").is_some()
}

/// The figures that the picture has below the keys.
#[derive(Debug)]
struct Said {
    /// The difference between the slowest and the quickest key, in seconds, at first and at last.
    apart: [f64; 2],
    /// The percentage of the cues that were in the four keys slowest at first, and in the four quickest at first.
    cues: [f64; 2],
}

fn said(picture: &str) -> Said {
    let numbers = |begins: &str| -> [f64; 2] {
        let line = picture.lines().find(|line| line.starts_with(begins)).expect("said below the keys");
        let found: Vec<f64> = line.split(' ').filter_map(|word| word.parse().ok()).collect();
        found.try_into().expect("two numbers")
    };
    Said { apart: numbers("Slowest and quickest key"), cues: numbers("The four keys slowest at first") }
}

fn lives(desk: &Desk, player: usize) -> String {
    let (days, seed) = (if longer() { 30 } else { 4 }, player + 1);
    let instrument = PLAYERS[player];
    desk.done(&format!("demo five-note-row-up-and-down --days {days} --seed {seed} --instrument {instrument}"))
}

#[test]
fn in_sound_too_the_keys_of_every_player_grow_equal_and_the_weak_ones_come_more_often() {
    let desk = Desk::new("twelve-in-sound");
    let players = if longer() { PLAYERS.len() } else { 1 };
    let threads = thread::available_parallelism().map_or(2, usize::from);
    let pictures: Vec<String> = thread::scope(|scope| {
        let desk = &desk;
        let some = |n: usize| (n..players).step_by(threads).map(|player| (player, lives(desk, player))).collect();
        let shares: Vec<_> = (0..threads).map(|n| scope.spawn(move || -> Vec<(usize, String)> { some(n) })).collect();
        let mut all: Vec<(usize, String)> = shares.into_iter().flat_map(|share| share.join().unwrap()).collect();
        all.sort_by_key(|(player, _)| *player);
        all.into_iter().map(|(_, picture)| picture).collect()
    });
    println!("{}", pictures[0]);
    for (picture, player) in pictures.iter().zip(PLAYERS) {
        let Said { apart: [first, last], cues: [slow, quick] } = said(picture);
        println!("{player:>12}  {first} s apart, then {last} s; {slow} and {quick} % of the cues");
        assert!(last < first && slow > quick, "{player}: {picture}");
        if longer() {
            // As for the players without sound, by what the picture rounds to.
            assert!(last <= 0.5 * first, "{player}: {picture}");
            assert!(slow > 1.2 * quick && slow >= 36.0, "{player}: {picture}");
        }
    }
    assert_eq!(pictures.len(), players);
}
