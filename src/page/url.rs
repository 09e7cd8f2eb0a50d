//! Addresses of the page. A name may hold any letter and sign, so every part of an address is escaped.

use std::fmt::Write as _;

use crate::source::JobAt;

/// A text as one part of an address (RFC 3986, 2.3: all but the unreserved is escaped).
pub(crate) fn part(text: &str) -> String {
    text.bytes().fold(String::with_capacity(text.len()), |mut made, byte| {
        if byte.is_ascii_alphanumeric() || b"-._~".contains(&byte) {
            made.push(char::from(byte));
        } else {
            write!(made, "%{byte:02X}").expect("writing to a text cannot fail");
        }
        made
    })
}

/// The address of a job, or of a page below it.
pub(crate) fn job(at: &JobAt, below: &str) -> String {
    let bench = at.bench.as_ref().map(|bench| format!("bench={}", part(bench)));
    // Browsers take these for folders, escaped or not.
    if at.name == "." || at.name == ".." {
        let bench = bench.map_or_else(String::new, |bench| format!("&{bench}"));
        return format!("/job{below}?name={}{bench}", part(&at.name));
    }
    let bench = bench.map_or_else(String::new, |bench| format!("?{bench}"));
    format!("/job/{}{below}{bench}", part(&at.name))
}

/// An address with what is asked behind it; empty texts are left out.
pub(crate) fn asked(path: &str, fields: &[(&str, Option<&str>)]) -> String {
    let given = fields.iter().filter_map(|(name, text)| {
        let text = text.filter(|text| !text.is_empty())?;
        Some(format!("{name}={}", part(text)))
    });
    let asked = given.collect::<Vec<_>>().join("&");
    if asked.is_empty() { path.to_owned() } else { format!("{path}?{asked}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(name: &str, bench: Option<&str>) -> JobAt {
        JobAt { name: name.to_owned(), bench: bench.map(str::to_owned) }
    }

    #[test]
    fn every_name_has_an_address_of_its_own() {
        assert_eq!(job(&at("J-1042", None), ""), "/job/J-1042");
        assert_eq!(job(&at("a b?#%&", None), "/report"), "/job/a%20b%3F%23%25%26/report");
        assert_eq!(job(&at("../x", None), ""), "/job/..%2Fx");
        assert_eq!(job(&at("..", None), "/report"), "/job/report?name=..");
        assert_eq!(job(&at(".", Some("b&c")), ""), "/job?name=.&bench=b%26c");
        assert_eq!(job(&at("ü", Some("north")), ""), "/job/%C3%BC?bench=north");
    }

    #[test]
    fn what_is_not_asked_is_left_out() {
        assert_eq!(asked("/jobs", &[("name", None), ("serial", Some(""))]), "/jobs");
        assert_eq!(
            asked("/jobs", &[("name", Some("a&b")), ("x", Some("1"))]),
            "/jobs?name=a%26b&x=1"
        );
    }
}
