//! Reads the sums of a worked line and does them again.

/// The value of `text`, made of decimals, + − × / and brackets; `None` where it is no sum.
pub(super) fn value(text: &str) -> Option<f64> {
    let marks: Vec<char> = text.chars().filter(|mark| !mark.is_whitespace()).collect();
    let mut at = 0;
    let found = sum(&marks, &mut at)?;
    (at == marks.len()).then_some(found)
}

fn sum(marks: &[char], at: &mut usize) -> Option<f64> {
    let mut found = product(marks, at)?;
    while let Some(mark @ ('+' | '−' | '-')) = marks.get(*at).copied() {
        *at += 1;
        let next = product(marks, at)?;
        found = if mark == '+' { found + next } else { found - next };
    }
    Some(found)
}

fn product(marks: &[char], at: &mut usize) -> Option<f64> {
    let mut found = factor(marks, at)?;
    while let Some(mark @ ('×' | '/')) = marks.get(*at).copied() {
        *at += 1;
        let next = factor(marks, at)?;
        found = if mark == '×' { found * next } else { found / next };
    }
    Some(found)
}

fn factor(marks: &[char], at: &mut usize) -> Option<f64> {
    match marks.get(*at)? {
        '−' | '-' => {
            *at += 1;
            factor(marks, at).map(|found| -found)
        }
        '(' => {
            *at += 1;
            let found = sum(marks, at)?;
            (marks.get(*at) == Some(&')')).then(|| *at += 1)?;
            Some(found)
        }
        _ => {
            let from = *at;
            while marks.get(*at).is_some_and(|mark| mark.is_ascii_digit() || *mark == '.') {
                *at += 1;
            }
            marks[from..*at].iter().collect::<String>().parse().ok()
        }
    }
}

#[test]
fn sums_are_done_as_by_hand() {
    assert_eq!(value("0.5 × 3 + (−2)"), Some(-0.5));
    assert_eq!(value("(1 + 2 − 4) / 4"), Some(-0.25));
    assert_eq!(value("limit 3"), None);
}
