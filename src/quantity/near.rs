//! Finding the known names that are close to a mistyped one.

/// Longer texts are not compared: they are no typing slip, and comparing them takes long.
const LONGEST: usize = 100;

/// At most three names that a person may have meant, closest first.
#[must_use]
pub fn names(typed: &str, known: impl IntoIterator<Item = String>) -> Vec<String> {
    texts(typed, known.into_iter().map(|name| (name.clone(), name)))
}

/// The texts of at most three things whose word a person may have meant, closest first. `known` is
/// pairs of a word, which is compared, and a text, which is returned.
#[must_use]
pub fn texts(typed: &str, known: impl IntoIterator<Item = (String, String)>) -> Vec<String> {
    let wanted = typed.trim().to_lowercase();
    let length = wanted.chars().count();
    if length > LONGEST {
        return Vec::new();
    }
    let allowed = 1 + length / 4;
    let mut near: Vec<(usize, String)> = known
        .into_iter()
        .filter_map(|(word, text)| {
            let lower = word.to_lowercase();
            let other = lower.chars().count();
            let steps = (length.abs_diff(other) <= allowed && other <= LONGEST)
                .then(|| distance(&wanted, &lower))
                .filter(|steps| *steps <= allowed);
            let part = length > 1 && lower.contains(&wanted);
            steps.or(part.then(|| length.abs_diff(other))).map(|steps| (steps, text))
        })
        .collect();
    near.sort();
    near.dedup();
    near.into_iter().map(|(_, name)| name).take(3).collect()
}

/// The number of letters to add, drop or change to turn one word into the other.
fn distance(from: &str, to: &str) -> usize {
    let to: Vec<char> = to.chars().collect();
    let mut above: Vec<usize> = (0..=to.len()).collect();
    for (row, letter) in from.chars().enumerate() {
        let mut left = row + 1;
        let mut corner = row;
        for (column, other) in to.iter().enumerate() {
            let changed = corner + usize::from(letter != *other);
            corner = above[column + 1];
            let best = changed.min(corner + 1).min(left + 1);
            above[column] = left;
            left = best;
        }
        if let Some(last) = above.last_mut() {
            *last = left;
        }
    }
    above.last().copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_of_the_finger_is_found() {
        assert_eq!(distance("kitten", "sitting"), 3);
        assert_eq!(distance("", "abc"), 3);
        assert_eq!(distance("abc", "abc"), 0);
        let known = || ["S-1042", "S-1043", "wheelhead"].map(str::to_owned).to_vec();
        assert_eq!(names("s-1042", known()), ["S-1042", "S-1043"]);
        assert_eq!(names("wheel", known()), ["wheelhead"]);
        assert!(names("lathe-7", known()).is_empty());
        let long = "x".repeat(10_000);
        assert!(names(&long, [long.clone()]).is_empty());
    }

    #[test]
    fn what_is_told_may_be_more_than_the_word() {
        let known = [("7731".to_owned(), "J-1 (serial 7731)".to_owned())];
        assert_eq!(texts(" 7732 ", known.clone()), ["J-1 (serial 7731)"]);
        assert!(texts("9", known).is_empty());
    }
}
