use super::made::{all_said, line, note, rate, settings, tone};
use earfirst::outside::notes::Ear;

#[test]
fn what_is_heard_does_not_depend_on_how_the_stream_was_cut() {
    for hz in [16_000, 44_100, 96_000] {
        let rate = rate(hz);
        let slur = tone(rate, 0.4, |t| if t < 0.2 { 57.0 } else { 59.0 }, |_| 1.0);
        let clip = line(rate, &[note(rate, 45.0, 0.2), slur, note(rate, 81.0, 0.15)], 0.03);
        let whole = all_said(&clip, usize::MAX);
        assert!(whole.1.len() >= 8);
        for block in [1, 64, 441, 4097] {
            assert_eq!(all_said(&clip, block), whole, "{hz} Hz in blocks of {block}");
        }
    }
}

#[test]
fn an_empty_block_is_no_event_and_the_clock_counts_what_was_heard() {
    let mut ear = Ear::new(&settings(rate(48_000)));
    ear.hear(&[], &mut |_| (), &mut |_| ());
    assert_eq!(ear.now().0, 0.0);
    ear.hear(&[0.0; 480], &mut |_| (), &mut |_| ());
    assert!((ear.now().0 - 0.01).abs() < 1e-12);
    assert!(ear.loudness().0 < -150.0);
}

#[test]
fn frames_come_in_order_and_never_need_the_future() {
    let clip = line(rate(44_100), &[note(rate(44_100), 60.0, 0.5)], 0.1);
    let (frames, _) = all_said(&clip, 1000);
    assert!(frames.len() > 300);
    for pair in frames.windows(2) {
        assert!(pair[0].known < pair[1].known);
    }
    assert!(frames.iter().all(|f| f.at <= f.known && (0.0..=1.0).contains(&f.clarity)));
}

#[test]
fn the_ear_may_move_to_another_thread() {
    fn moves<T: Send>(_: &T) {}
    moves(&Ear::new(&settings(rate(44_100))));
}
