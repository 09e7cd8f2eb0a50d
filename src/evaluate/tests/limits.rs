//! Figures against a limit: a zone near the place where a verdict turns over is proved in whole
//! numbers.

use geometry::Method;

use super::*;

/// A bow of 20 by 20 points with a wild one: wide enough a set that floats answer it. Its zone by hand:
/// the bow lies between 0 and 9.5² · 0.1, the wild point 1 um above its middle.
fn bow(more: &str) -> String {
    let rows = (0..400).map(|k| {
        let (x, y) = (k % 20, k / 20);
        // (x − 9.5)² · 0.1 um, four places.
        let square = (2 * x - 19) * (2 * x - 19);
        format!("{x},{y},{}", f64::from(square) * 0.025)
    });
    std::iter::once("x_mm,y_mm,z_um".to_owned()).chain(rows).collect::<Vec<_>>().join("\n") + more
}

/// How the zone was obtained beside this limit, and the verdict.
fn proved(tolerance: &str, uncertainty: Option<&str>) -> (Method, Word) {
    let found =
        evaluated(Characteristic::Flatness, &bow(""), Some(limit(tolerance, uncertainty))).unwrap();
    let word = found.verdict.unwrap().word;
    (found.figures.beside.zone.unwrap().method, word)
}

#[test]
fn a_zone_at_a_limit_is_proved_in_whole_numbers() {
    // From (±0.5)² · 0.1 in the middle to (±9.5)² · 0.1 at the edges: 9.025 − 0.025.
    assert_eq!(value(Characteristic::Flatness, &bow("")), um("9"));
    assert_eq!(proved("100 um", None), (Method::Floats, Word::Conforms));
    assert_eq!(proved("9.001 um", None), (Method::Floats, Word::Conforms));
    assert_eq!(proved("8.999 um", None), (Method::Floats, Word::DoesNotConform));
    let (method, word) = proved("9 um", None);
    assert!(method != Method::Floats && word == Word::Conforms, "{method:?}");
    // Where the guard band begins and ends, too.
    for (tolerance, word) in [("11 um", Word::Conforms), ("7 um", Word::Undecided)] {
        let (method, found) = proved(tolerance, Some("2 um"));
        assert!(method != Method::Floats && found == word, "{tolerance}: {method:?} {found:?}");
    }
    assert_eq!(proved("10 um", Some("2 um")), (Method::Floats, Word::Undecided));
    assert_eq!(proved("6.9 um", Some("2 um")), (Method::Floats, Word::DoesNotConform));
    assert_eq!(proved("11.1 um", Some("2 um")), (Method::Floats, Word::Conforms));
}

#[test]
fn a_tie_is_inside_and_a_thousandth_of_a_picometre_more_is_out() {
    use Word::{Conforms, DoesNotConform};
    let word = |file: &str, tolerance: &str| {
        let found = evaluated(Characteristic::Parallelism, file, Some(limit(tolerance, None)));
        found.unwrap().verdict.unwrap().word
    };
    let tie = "x_mm,y_mm,z_mm\n0,0,0.1\n1,0,0.1001\n0,1,0.1\n1,1,0.1\n";
    assert_eq!(word(tie, "0.1 um"), Conforms, "0.1001 − 0.1 in floats is more than 0.0001");
    let more = tie.replace("0.1001", "0.100100000001");
    assert_eq!(word(&more, "0.1 um"), DoesNotConform);
}

#[test]
fn a_file_that_proves_nothing_has_no_verdict_whatever_its_limit() {
    let three = "x_mm,y_mm,z_um\n0,0,0\n1,0,5\n0,1,9\n";
    for tolerance in ["0.001 um", "100 um"] {
        let found =
            evaluated(Characteristic::Flatness, three, Some(limit(tolerance, None))).unwrap();
        let verdict = found.verdict.unwrap();
        assert_eq!(
            (verdict.word, verdict.rules, found.figures.proves),
            (Word::Undecided, None, false)
        );
        assert_eq!(found.figures.value, Figure::ZERO);
    }
    // Of the same three the range says something.
    let found = evaluated(Characteristic::Parallelism, three, Some(limit("8 um", None))).unwrap();
    assert_eq!(found.verdict.unwrap().word, Word::DoesNotConform);
}

#[test]
fn every_characteristic_meets_its_limit_by_the_same_rules() {
    let files = [
        (Characteristic::Flatness, SADDLE),
        (Characteristic::Parallelism, SADDLE),
        (Characteristic::Straightness, "x_mm,z_um\n0,0\n1,2.54\n2,0\n"),
        (Characteristic::Runout, "angle_deg,r_um\n0,0\n90,2.54\n180,0\n270,2.54\n"),
    ];
    for (measures, file) in files {
        let verdict = |tolerance: &str, uncertainty: Option<&str>| {
            let found = evaluated(measures, file, Some(limit(tolerance, uncertainty))).unwrap();
            assert_eq!(found.figures.value, um("2.54"), "{measures:?}");
            found.verdict.unwrap().word
        };
        assert_eq!(verdict("2.54 um", None), Word::Conforms);
        assert_eq!(verdict("2.539999 um", None), Word::DoesNotConform);
        assert_eq!(verdict("2.54 um", Some("0.1 um")), Word::Undecided);
        assert_eq!(verdict("2.64 um", Some("0.1 um")), Word::Conforms);
        assert_eq!(verdict("2.43 um", Some("0.1 um")), Word::DoesNotConform);
        assert_eq!(verdict("2.54 um", Some("0 um")), Word::Conforms, "known exactly");
    }
}
