//! A verdict in one line for a person.

use ::report::{setup_words, word_of};
use judgement::Known;
use wire::{ToldLine, VerdictLine, printable};

use super::screen::{Ink, Screen};

/// `inner-spacer/face-a: CONFORMS. 0.00004 in, limit 0.0001, ±0.000026. 8 touches on the plate.`
pub(crate) fn sentence(line: &VerdictLine, told: &ToldLine, screen: Screen) -> String {
    let word = screen.ink(&word_of(line.verdict), Ink::of(line.verdict));
    let place = printable(&format!("{}/{}", line.part, line.check));
    let attempt =
        if line.attempt == 1 { String::new() } else { format!(", attempt {}", line.attempt) };
    let assumed = if line.uncertainty_from == Known::Assumed { " assumed" } else { "" };
    let figure = match (&told.value, &line.answer) {
        (_, Some(answer)) => format!(" The answer: {}.", printable(answer)),
        (Some(value), None) => {
            let [limit, spread] = [&told.limit, &told.uncertainty]
                .map(|text| text.as_deref().map_or_else(|| "–".to_owned(), printable));
            format!(" {} {}, limit {limit}, ±{spread}{assumed}.", printable(value), told.unit)
        }
        (None, None) => String::new(),
    };
    let reasons: Vec<&str> = line.reasons.iter().map(|reason| reason.text()).collect();
    let reasons = if reasons.is_empty() {
        String::new()
    } else {
        format!(" Because: {}.", reasons.join(", ").replace('-', " "))
    };
    let mut cautions = String::new();
    for said in &line.cautions {
        cautions.push(' ');
        cautions.push_str(&printable(said));
    }
    format!("{place}{attempt}: {word}.{figure}{}{reasons}{cautions}", touches(line))
}

/// ` 8 touches on the plate.`, or ` 6 of 8 touches, 2 left out, on the plate.`; nothing for a check
/// without touches.
fn touches(line: &VerdictLine) -> String {
    let VerdictLine { taken, positions, touches, skipped, .. } = line;
    if *positions == 0 {
        return String::new();
    }
    let all = positions.saturating_mul(*touches);
    let of = if *taken == all { String::new() } else { format!(" of {all}") };
    let each = if *touches > 1 { format!(", {touches} at each position") } else { String::new() };
    let left_out = if *skipped == 0 { String::new() } else { format!(", {skipped} left out") };
    let comma = if left_out.is_empty() && each.is_empty() { "" } else { "," };
    let held = line.setup.map(|setup| format!("{comma} {}", setup_words(setup)));
    format!(" {taken}{of} touches{each}{left_out}{}.", held.unwrap_or_default())
}

#[cfg(test)]
mod tests {
    use super::*;
    use ::record::VerdictRecord;
    use ::report::trial::{answered, bar, face, face_with, with};
    use judgement::{Reason, Word};
    use quantity::Unit;
    use wire::Published;

    const PLAIN: Screen = Screen { colour: false, width: None };

    fn told(record: &VerdictRecord) -> String {
        sentence(&record.published(), &ToldLine::of(record, Unit::Inch), PLAIN)
    }

    #[test]
    fn an_attempt_cut_short_or_withheld_says_why() {
        let mut short = face_with(|verdict| {
            (verdict.value, verdict.word) = (None, Word::Incomplete);
            (verdict.taken, verdict.skipped) = (5, 1);
        });
        short.attempt = 2;
        assert_eq!(
            told(&short),
            "inner-spacer/face-a, attempt 2: INCOMPLETE. 5 of 8 touches, 1 left out, on the plate."
        );
        let withheld = face_with(|verdict| {
            (verdict.word, verdict.known) = (Word::Undecided, Known::Assumed);
            verdict.reasons = vec![Reason::NotClosed, Reason::Warm];
        });
        assert_eq!(
            told(&withheld),
            "inner-spacer/face-a: UNDECIDED. 0.00034 in, limit 0.0001, ±0.000026 assumed. \
             8 touches on the plate. Because: not closed, warm."
        );
    }

    #[test]
    fn an_answer_and_a_bar_have_their_own_words() {
        assert_eq!(
            told(&answered("no\u{7}", &["yes"])),
            "inner-spacer/face-a: DOES NOT CONFORM. The answer: no\\x07."
        );
        let taper = VerdictRecord {
            measures: ::bench::plan::Measures::parse("taper").expect("a kind"),
            ..face()
        };
        let taper = with(taper, |verdict| (verdict.positions, verdict.taken) = (3, 3));
        assert!(told(&taper).ends_with("±0.000026. 3 touches."));
        assert_eq!(
            told(&bar()),
            "inner-spacer/face-a: UNDECIDED. 0.00016 in, limit 0.0002 at 3, ±0.000046. \
             24 touches while turning."
        );
    }

    #[test]
    fn what_must_not_be_missed_is_told_with_the_word() {
        let doubtful = face_with(|verdict| {
            verdict.word = Word::Conforms;
            verdict.cautions = vec!["Keyed to 0.0001 in\u{7}.".to_owned()];
        });
        let told = told(&doubtful);
        assert!(told.ends_with("8 touches on the plate. Keyed to 0.0001 in\\x07."), "{told}");
    }

    #[test]
    fn the_word_alone_is_coloured() {
        let bright = Screen { colour: true, width: Some(80) };
        let record = face();
        let text = sentence(&record.published(), &ToldLine::of(&record, Unit::Inch), bright);
        assert!(text.contains(": \u{1b}[1;31mDOES NOT CONFORM\u{1b}[0m. 0.00034 in"), "{text}");
    }
}
