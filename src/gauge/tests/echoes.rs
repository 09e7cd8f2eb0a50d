//! A line that sends back what was sent to it.

use super::*;

/// What is left of some bytes that arrive in pieces.
fn stripped(echo: &mut Echo, bytes: &[u8], cuts: &[usize]) -> Vec<u8> {
    let (mut left, mut rest) = (Vec::new(), bytes);
    for cut in cuts.iter().cycle() {
        let (piece, after) = rest.split_at((*cut).min(rest.len()));
        left.extend_from_slice(&echo.strip(piece));
        rest = after;
        if rest.is_empty() {
            return left;
        }
    }
    unreachable!("there is a cut")
}

proptest! {
    #[test]
    fn only_the_echo_is_dropped_however_it_arrives(
        asked in prop::collection::vec(any::<u8>(), 0..12),
        answer in prop::collection::vec(any::<u8>(), 0..40),
        cuts in prop::collection::vec(1_usize..6, 1..20),
    ) {
        let mut echo = Echo::default();
        echo.sent(&asked);
        let sent_back = [&asked[..], &answer[..]].concat();
        prop_assert_eq!(stripped(&mut echo, &sent_back, &cuts), answer.clone());
        // Once: the same bytes again are the gauge's own.
        prop_assert_eq!(stripped(&mut echo, &asked, &cuts), asked.clone());
        // A line that sends nothing back loses nothing of its answer, as long as that is not the
        // question itself, or the beginning of it.
        echo.sent(&asked);
        if !answer.starts_with(&asked) && !asked.starts_with(&answer) {
            prop_assert_eq!(stripped(&mut echo, &answer, &cuts), answer.clone());
        }
        // What was asked before is forgotten where something else is asked.
        echo.sent(b"first");
        echo.sent(&asked);
        prop_assert_eq!(stripped(&mut echo, &sent_back, &cuts), answer);
    }
}
