//! `[sound]`: the sounds at the bench, and what plays them.
//!
//! ```toml
//! [sound]
//! player = "aplay -q"   # fed on its standard input; where {file} stands, a file is named instead
//! volume = 80           # percent of full scale
//! mute = false
//! pitch = 1.0           # 0.5 to 2: times the usual pitch
//! follow = false        # a tone whose pitch follows the deviation
//! [[sound.station]]     # what is different at one station
//! name = "bench-2"
//! pitch = 1.26
//! ```

use std::collections::BTreeMap;

use super::reader::{Document, Table};
use super::words::{Once, name};
use quantity::Name;

/// The volume where none is stated, in percent.
const USUAL_VOLUME: u8 = 80;

/// The sounds of a bench.
#[derive(Debug, Clone, PartialEq)]
pub struct Sound {
    /// The command that plays a WAV file, with its arguments; empty for the terminal's bell.
    pub player: Vec<String>,
    /// Whether the pitch of a tone follows the deviation.
    pub follow: bool,
    /// The voice of stations without one of their own.
    pub usual: Voice,
    /// The stations with a voice of their own.
    pub stations: BTreeMap<Name, Voice>,
}

/// How a station sounds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Voice {
    /// Percent of full scale, 0 to 100.
    pub volume: u8,
    /// Whether it is silent.
    pub mute: bool,
    /// The pitch as a multiple of the usual one, 0.5 to 2.
    pub pitch: f64,
}

impl Default for Voice {
    fn default() -> Self {
        Self { volume: USUAL_VOLUME, mute: false, pitch: 1.0 }
    }
}

impl Default for Sound {
    fn default() -> Self {
        let (player, stations) = (Vec::new(), BTreeMap::new());
        Self { player, follow: false, usual: Voice::default(), stations }
    }
}

impl Sound {
    /// The voice of a station.
    #[must_use]
    pub fn voice(&self, station: &str) -> Voice {
        let own = self.stations.iter().find(|(name, _)| name.as_str() == station);
        own.map_or(self.usual, |(_, voice)| *voice)
    }

    /// Whether a pitch can follow the deviation. That takes short notes one after the other, and so a
    /// player that is fed on its standard input.
    #[must_use]
    pub fn can_follow(&self) -> bool {
        !self.player.is_empty() && !self.wants_file()
    }

    /// Whether the player is given a file name and not fed on its standard input.
    #[must_use]
    pub fn wants_file(&self) -> bool {
        self.player.iter().any(|word| word.contains("{file}"))
    }
}

/// Reads the table; without one, everything is as usual.
pub(super) fn read(document: &Document<'_>, table: Option<Table<'_>>) -> Sound {
    let Some(table) = table else { return Sound::default() };
    let mut sound = Sound { usual: voice(&table, Voice::default()), ..Sound::default() };
    if let Some(player) = table.string("player") {
        sound.player = player.value.split_whitespace().map(str::to_owned).collect();
        if sound.player.is_empty() {
            let hint = "write player = \"aplay -q\", say, or leave it out for the terminal's bell";
            document.error(player.line, "\"sound.player\" names no command", hint);
        }
    }
    sound.follow = table.boolean("follow").is_some_and(|follow| follow.value);
    if sound.follow && !sound.can_follow() {
        // A sound must not keep anybody's readings from the record.
        let text = "\"sound.follow\" needs a player that is fed on its standard input";
        document.warning(
            table.line_of("follow"),
            text,
            "write player = \"aplay -q\", without {file}",
        );
    }
    let mut names = Once::new("stations");
    for own in table.tables("station") {
        let station = name(&own);
        if let Some(station) = station {
            names.give(document, &station);
            sound.stations.insert(station.value, voice(&own, sound.usual));
        }
        own.finish();
    }
    table.finish();
    sound
}

fn voice(table: &Table<'_>, usual: Voice) -> Voice {
    let volume = table.integer("volume", 0..=100);
    let pitch = table.number("pitch");
    if let Some(pitch) = pitch.filter(|pitch| !(0.5..=2.0).contains(&pitch.value)) {
        let text = "\"pitch\" should be from 0.5 to 2";
        table.document().error(pitch.line, text, "1 is the usual pitch, 2 an octave higher");
    }
    Voice {
        volume: volume.and_then(|v| u8::try_from(v.value).ok()).unwrap_or(usual.volume),
        mute: table.boolean("mute").map_or(usual.mute, |mute| mute.value),
        pitch: pitch.map_or(usual.pitch, |pitch| pitch.value),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(text: &str) -> (Sound, Vec<String>) {
        let document = Document::parse("bench.toml", text);
        let root = document.root().unwrap();
        let sound = read(&document, root.table("sound"));
        root.finish();
        (sound, document.findings().iter().map(ToString::to_string).collect())
    }

    #[test]
    fn without_a_table_the_bell_rings_as_usual() {
        let (sound, findings) = said("");
        assert_eq!((sound, findings), (Sound::default(), vec![]));
    }

    #[test]
    fn two_benches_sound_different() {
        let text = "[sound]\nplayer = \"aplay -q\"\nvolume = 50\nfollow = true\n\
                    [[sound.station]]\nname = \"bench-2\"\npitch = 1.26\n\
                    [[sound.station]]\nname = \"bench-3\"\nmute = true\n";
        let (sound, findings) = said(text);
        assert!(findings.is_empty(), "{findings:?}");
        assert_eq!(sound.player, ["aplay", "-q"]);
        assert!(sound.follow && !sound.wants_file());
        let usual = Voice { volume: 50, mute: false, pitch: 1.0 };
        assert_eq!(sound.voice("bench-1"), usual);
        assert_eq!(sound.voice("bench-2"), Voice { pitch: 1.26, ..usual });
        assert_eq!(sound.voice("bench-3"), Voice { mute: true, ..usual });
    }

    #[test]
    fn what_cannot_be_heard_is_found() {
        let text = "[sound]\nplayer = \"play {file}\"\nvolume = 101\npitch = 3\nfollow = true\nloud = 1\n\
                    [[sound.station]]\npitch = 1\n";
        let (_, findings) = said(text);
        let all = findings.join("\n");
        for part in ["whole number from 0 to 100", "0.5 to 2", "sound.follow", "loud", "name"] {
            assert!(all.contains(part), "no {part:?} in {all}");
        }
    }
}
