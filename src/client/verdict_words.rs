//! A verdict in one line for a person.

use ::report::{setup_words, spoken, word_of};
use quantity::Unit;
use wire::{VerdictLine, printable};

use super::screen::{Ink, Screen};

/// `inner-spacer/face-a: CONFORMS. 0.00004 in, limit 0.0001, ±0.000026. 8 touches on the plate.`
pub(crate) fn sentence(line: &VerdictLine, unit: Unit, screen: Screen) -> String {
    let told = spoken(line, unit);
    let ink = match line.verdict.as_str() {
        "conforms" => Ink::Green,
        "does-not-conform" => Ink::Red,
        _ => Ink::Yellow,
    };
    let word = screen.ink(&printable(&word_of(&line.verdict)), ink);
    let place = printable(&format!("{}/{}", line.part, line.check));
    let attempt =
        if line.attempt == 1 { String::new() } else { format!(", attempt {}", line.attempt) };
    let assumed = if line.uncertainty_from == "assumed" { " assumed" } else { "" };
    let figure = match (&line.value, &line.answer) {
        (Some(_), _) => {
            format!(" {} {unit}, limit {}, ±{}{assumed}.", told.value, told.limit, told.uncertainty)
        }
        (None, Some(answer)) => format!(" The answer: {}.", printable(answer)),
        (None, None) => String::new(),
    };
    let reasons = if line.reasons.is_empty() {
        String::new()
    } else {
        format!(" Because: {}.", printable(&line.reasons.join(", ").replace('-', " ")))
    };
    let mut cautions = String::new();
    for said in &line.cautions {
        cautions.push(' ');
        cautions.push_str(&printable(said));
    }
    format!("{place}{attempt}: {word}.{figure}{}{reasons}{cautions}", touches(line))
}

/// ` 8 touches on the plate.`, or ` 6 of 8 touches, 2 left out, on the plate.`; nothing where
/// nothing is touched.
fn touches(line: &VerdictLine) -> String {
    let VerdictLine { taken, positions, skipped, .. } = line;
    if *positions == 0 {
        return String::new();
    }
    let of = if taken == positions { String::new() } else { format!(" of {positions}") };
    let left_out = if *skipped == 0 { String::new() } else { format!(", {skipped} left out") };
    let comma = if left_out.is_empty() { "" } else { "," };
    let held =
        line.setup.as_deref().map(|setup| format!("{comma} {}", printable(setup_words(setup))));
    format!(" {taken}{of} touches{left_out}{}.", held.unwrap_or_default())
}

#[cfg(test)]
mod tests {
    use super::*;
    use ::report::trial::{bar, line};

    const PLAIN: Screen = Screen { colour: false, width: None };

    #[test]
    fn an_attempt_cut_short_or_withheld_says_why() {
        let short = VerdictLine {
            value: None,
            taken: 5,
            skipped: 1,
            attempt: 2,
            verdict: "incomplete".to_owned(),
            ..line()
        };
        assert_eq!(
            sentence(&short, Unit::Inch, PLAIN),
            "inner-spacer/face-a, attempt 2: INCOMPLETE. 5 of 8 touches, 1 left out, on the plate."
        );
        let withheld = VerdictLine {
            verdict: "undecided".to_owned(),
            uncertainty_from: "assumed".to_owned(),
            reasons: vec!["not-closed".to_owned(), "warm".to_owned()],
            ..line()
        };
        assert_eq!(
            sentence(&withheld, Unit::Inch, PLAIN),
            "inner-spacer/face-a: UNDECIDED. 0.00034 in, limit 0.0001, ±0.000026 assumed. \
             8 touches on the plate. Because: not closed, warm."
        );
    }

    #[test]
    fn an_answer_and_a_bar_have_their_own_words() {
        let answered = VerdictLine {
            value: None,
            answer: Some("no\u{7}".to_owned()),
            good: vec!["yes".to_owned()],
            setup: None,
            positions: 0,
            taken: 0,
            ..line()
        };
        assert_eq!(
            sentence(&answered, Unit::Inch, PLAIN),
            "inner-spacer/face-a: DOES NOT CONFORM. The answer: no\\x07."
        );
        let taper = VerdictLine { setup: None, positions: 3, taken: 3, ..line() };
        assert!(sentence(&taper, Unit::Inch, PLAIN).ends_with("±0.000026. 3 touches."));
        assert_eq!(
            sentence(&bar(), Unit::Inch, PLAIN),
            "inner-spacer/face-a: UNDECIDED. 0.00016 in, limit 0.0002 at 3, ±0.000046. \
             24 touches while turning."
        );
    }

    #[test]
    fn what_must_not_be_missed_is_told_with_the_word() {
        let doubtful = VerdictLine {
            verdict: "conforms".to_owned(),
            cautions: vec!["Keyed to 0.0001 in\u{7}.".to_owned()],
            ..line()
        };
        let told = sentence(&doubtful, Unit::Inch, PLAIN);
        assert!(told.ends_with("8 touches on the plate. Keyed to 0.0001 in\\x07."), "{told}");
    }

    #[test]
    fn the_word_alone_is_coloured() {
        let bright = Screen { colour: true, width: Some(80) };
        let text = sentence(&line(), Unit::Inch, bright);
        assert!(text.contains(": \u{1b}[1;31mDOES NOT CONFORM\u{1b}[0m. 0.00034 in"), "{text}");
    }
}
