//! What `tenths forward` says of its links, for the status.

use std::path::Path;

use ::shop::{BROKER_LINK, Claim, DATABASE_LINK, LinkState};
use config::Links;
use quantity::Wall;
use wire::printable;

use super::ago;

/// A line for each link that is configured, and whether it tells of something that is in the way.
pub(super) fn lines(links: &Links, state: &Path, now: Wall) -> Vec<(String, bool)> {
    let configured = [
        (links.database.is_some(), DATABASE_LINK, "database"),
        (links.broker.is_some(), BROKER_LINK, "broker"),
    ];
    let runs = Claim::is_taken(state);
    let configured = configured.into_iter().filter(|(is, ..)| *is);
    configured.map(|(_, link, what)| line(what, LinkState::read(state, link), runs, now)).collect()
}

fn line(what: &str, state: Option<LinkState>, runs: bool, now: Wall) -> (String, bool) {
    let Some(state) = state else {
        let text = if runs { "has told nothing yet" } else { NOT_RUNNING };
        return (format!("shop, {what}: {text}."), !runs);
    };
    let mut pieces = vec![format!("shop, {what} {}", printable(&state.to))];
    let mut amiss = false;
    if !runs {
        pieces.push(NOT_RUNNING.to_owned());
        amiss = true;
    } else if let Some(trouble) = &state.trouble {
        let since = ago(&trouble.since, now);
        let (text, hint) = (printable(&trouble.text), printable(&trouble.hint));
        pieces.push(format!("NOT REACHED for {since}: {text} ({hint})"));
        amiss = true;
    }
    if let Some(at) = &state.sent_at {
        pieces.push(format!("row {} arrived {} ago", state.sent, ago(at, now)));
    }
    if state.waiting > 0 {
        pieces.push(format!("{} rows wait", state.waiting));
    }
    if let Some(remark) = &state.remark {
        pieces.push(printable(remark));
    }
    (pieces.join("; ") + ".", amiss)
}

const NOT_RUNNING: &str = "`tenths forward` is not running (systemctl start tenths-forward)";

#[cfg(test)]
mod tests {
    use ::shop::LinkTrouble;

    use super::*;

    #[test]
    fn a_link_is_told_with_what_is_in_its_way() {
        let now = Wall::parse("2027-03-01T10:00:00Z").unwrap();
        let mut state = LinkState {
            to: "db.example:5432".to_owned(),
            sent: 1200,
            sent_at: Some("2027-03-01T09:00:00Z".to_owned()),
            ..LinkState::default()
        };
        let (well, amiss) = line("database", Some(state.clone()), true, now);
        assert!(well.starts_with("shop, database db.example:5432; row 1200 arrived"), "{well}");
        assert!(!amiss && !well.contains("wait"), "{well}");
        state.waiting = 7;
        state.trouble = Some(LinkTrouble {
            text: "nobody answers".to_owned(),
            hint: "look there".to_owned(),
            since: "2027-03-01T09:00:00Z".to_owned(),
            passes: true,
        });
        let (told, amiss) = line("database", Some(state.clone()), true, now);
        assert!(amiss && told.contains("nobody answers (look there)"), "{told}");
        assert!(told.ends_with("; 7 rows wait."), "{told}");
        let (told, amiss) = line("database", Some(state), false, now);
        assert!(amiss && told.contains("is not running"), "{told}");
        assert!(line("broker", None, false, now).0.contains("is not running"));
    }
}
