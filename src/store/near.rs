//! Names that are close to a mistyped one.

/// At most three names that a person may have meant, closest first.
pub(super) fn names(typed: &str, known: Vec<String>) -> Vec<String> {
    let wanted = typed.to_lowercase();
    let allowed = 1 + wanted.chars().count() / 4;
    let mut near: Vec<(usize, String)> = known
        .into_iter()
        .filter_map(|name| {
            let lower = name.to_lowercase();
            let steps = distance(&wanted, &lower);
            let part = wanted.len() > 1 && lower.contains(&wanted);
            (steps <= allowed || part).then_some((steps, name))
        })
        .collect();
    near.sort();
    near.into_iter().map(|(_, name)| name).take(3).collect()
}

/// Letters to add, drop or change to make one word of the other.
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
    }
}
