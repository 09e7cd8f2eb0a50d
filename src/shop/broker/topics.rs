//! The topics of a bench. No name in the record can make another topic than its own.

use std::fmt::Write as _;

/// The topics of one bench, `tenths/BENCH/…`.
#[derive(Debug, Clone)]
pub(super) struct Topics(String);

impl Topics {
    pub(super) fn of(bench: &str) -> Self {
        Self(format!("tenths/{bench}"))
    }

    /// Verdicts, in order.
    pub(super) fn verdict(&self) -> String {
        format!("{}/verdict", self.0)
    }

    /// Alerts that were raised, seen or cleared, in order.
    pub(super) fn alert(&self) -> String {
        format!("{}/alert", self.0)
    }

    /// Lines of the feed that cannot be read.
    pub(super) fn damaged(&self) -> String {
        format!("{}/damaged", self.0)
    }

    /// Whether somebody tells of the bench: a state.
    pub(super) fn presence(&self) -> String {
        format!("{}/state", self.0)
    }

    /// An alert that is open: a state.
    pub(super) fn open(&self, alert: u64) -> String {
        format!("{}/open/{alert}", self.0)
    }

    /// A gauge: a state.
    pub(super) fn gauge(&self, name: &str) -> String {
        format!("{}/gauge/{}", self.0, step(name))
    }
}

/// A name as one step of a topic. Letters and digits of every script, `-`, `_`, `.` and blanks stay as they are;
/// every other character is written as `%` and two digits for each of its bytes, as in a web address. `/`, `+`
/// and `#` have a meaning in topics (OASIS MQTT 3.1.1, section 4.7).
fn step(name: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || "-_. ".contains(c);
    name.chars().fold(String::with_capacity(name.len()), |mut step, c| {
        if plain(c) {
            step.push(c);
        } else {
            for byte in c.encode_utf8(&mut [0; 4]).bytes() {
                write!(step, "%{byte:02X}").expect("a String takes everything");
            }
        }
        step
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_one_step_whatever_is_in_it() {
        let topics = Topics::of("north");
        assert_eq!(topics.gauge("plate 2"), "tenths/north/gauge/plate 2");
        assert_eq!(topics.gauge("Prüfmaß-1.a"), "tenths/north/gauge/Prüfmaß-1.a");
        assert_eq!(topics.gauge("a/b#+%\0"), "tenths/north/gauge/a%2Fb%23%2B%25%00");
        assert_eq!(topics.gauge("$SYS"), "tenths/north/gauge/%24SYS");
        assert_eq!(topics.gauge("µ°"), "tenths/north/gauge/µ%C2%B0");
        // Two names never share a step.
        assert_ne!(step("a#"), step("a%23"));
    }
}
