//! Places: the configuration file, the state folder, and the stable names of ports.

use std::env;
use std::fmt;
use std::path::{Path, PathBuf};

/// The name of the socket in the state folder.
pub const SOCKET: &str = "tenths.sock";

/// The configuration file of the whole machine.
pub const MACHINE_CONFIG: &str = "/etc/tenths/bench.toml";

/// The state folder that belongs to it.
pub const MACHINE_STATE: &str = "/var/lib/tenths";

/// The longest path of a Unix socket, in bytes: on Linux 108, including the closing zero (unix(7),
/// `sun_path`).
const LONGEST_SOCKET_PATH: usize = 107;

/// The environment in which the program was started; the files do not state these.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Surroundings {
    /// `TENTHS_CONFIG`.
    pub config: Option<PathBuf>,
    /// `STATE_DIRECTORY`, given to a service by its supervisor.
    pub state_directory: Option<PathBuf>,
    /// `XDG_STATE_HOME`; a relative one is ignored (XDG Base Directory Specification).
    pub state_home: Option<PathBuf>,
    /// `XDG_CONFIG_HOME`; a relative one is ignored.
    pub config_home: Option<PathBuf>,
    /// `HOME`.
    pub home: Option<PathBuf>,
    /// The folder of stable names of serial ports.
    pub by_id: PathBuf,
    /// The folder of stable names of input devices.
    pub input_by_id: PathBuf,
}

impl Surroundings {
    /// The surroundings of this process.
    #[must_use]
    pub fn of_process() -> Self {
        let said = |name| env::var_os(name).filter(|text| !text.is_empty()).map(PathBuf::from);
        let absolute = |path: &PathBuf| path.is_absolute();
        // Several state folders are separated by colons; the first is the main one.
        let first = |path: PathBuf| {
            path.to_str().and_then(|text| text.split(':').next()).map(PathBuf::from)
        };
        Self {
            config: said("TENTHS_CONFIG"),
            state_directory: said("STATE_DIRECTORY").and_then(first),
            state_home: said("XDG_STATE_HOME").filter(absolute),
            config_home: said("XDG_CONFIG_HOME").filter(absolute),
            home: said("HOME").filter(absolute),
            by_id: PathBuf::from("/dev/serial/by-id"),
            input_by_id: PathBuf::from("/dev/input/by-id"),
        }
    }

    /// The state folder where a configuration file names none. The machine's file means the machine's record,
    /// for the service, the clients of the group and root alike.
    #[must_use]
    pub fn state_of(&self, config: &Path) -> Option<PathBuf> {
        let of_machine = config == Path::new(MACHINE_CONFIG);
        let machine = || of_machine.then(|| PathBuf::from(MACHINE_STATE));
        self.state_directory.clone().or_else(machine).or_else(|| self.state())
    }

    /// The configuration file of the user, whether it is there or not.
    #[must_use]
    pub fn users_config(&self) -> Option<PathBuf> {
        let home = || self.home.as_ref().map(|home| home.join(".config"));
        let folder = self.config_home.clone().or_else(home);
        folder.map(|folder| folder.join("tenths/bench.toml"))
    }

    /// The state folder of a user, or the one that a supervisor gives.
    #[must_use]
    pub fn state(&self) -> Option<PathBuf> {
        let user = || {
            let home = || self.home.as_ref().map(|home| home.join(".local/state"));
            self.state_home.clone().or_else(home).map(|folder| folder.join("tenths"))
        };
        self.state_directory.clone().or_else(user)
    }

    /// The stable name for the device that `port` names, if there is one.
    #[must_use]
    pub fn stable_name(&self, port: &Path) -> Option<PathBuf> {
        let device = port.canonicalize().ok()?;
        let folders =
            [&self.by_id, &self.input_by_id].into_iter().filter_map(|by| by.read_dir().ok());
        let mut links: Vec<_> = folders.flatten().flatten().map(|entry| entry.path()).collect();
        links.sort();
        links.into_iter().find(|link| link.canonicalize().is_ok_and(|target| target == device))
    }

    /// The configuration file: the one named, else `TENTHS_CONFIG`, else the first that exists of
    /// `./config/bench.toml`, the user's and the machine's.
    ///
    /// # Errors
    /// When none is named and none exists. A named file is not looked at here.
    pub fn find(&self, flag: Option<&Path>) -> Result<PathBuf, NotFound> {
        if let Some(asked) = flag.or(self.config.as_deref()) {
            return Ok(asked.to_owned());
        }
        let mut looked = vec![PathBuf::from("config/bench.toml")];
        looked.extend(self.users_config());
        looked.push(PathBuf::from(MACHINE_CONFIG));
        // One that may not be seen is no reason to say that there is none: reading it says what is wrong.
        let hidden = |path: &&PathBuf| {
            let seen = path.metadata();
            seen.is_err_and(|error| error.kind() == std::io::ErrorKind::PermissionDenied)
        };
        let found = looked.iter().find(|path| path.is_file());
        match found.or_else(|| looked.iter().rfind(hidden)) {
            Some(found) => Ok(found.clone()),
            None => Err(NotFound { looked }),
        }
    }
}

/// No configuration file was found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotFound {
    /// Where it was looked for.
    pub looked: Vec<PathBuf>,
}

impl NotFound {
    /// What to do about it.
    pub const HINT: &'static str = "name it with --config FILE or in TENTHS_CONFIG";
}

impl fmt::Display for NotFound {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let looked: Vec<_> = self.looked.iter().map(|path| path.display().to_string()).collect();
        write!(f, "there is no bench.toml; looked for {}", looked.join(", "))
    }
}

impl std::error::Error for NotFound {}

/// By how many bytes the socket's path would be too long in this state folder; 0 when it fits.
pub(super) fn socket_excess(state: &Path) -> usize {
    state.join(SOCKET).as_os_str().len().saturating_sub(LONGEST_SOCKET_PATH)
}

/// Whether the name of a port may mean another device after the next start.
pub(super) fn is_unstable(port: &Path) -> bool {
    let text = port.to_string_lossy();
    ["/dev/ttyUSB", "/dev/ttyACM", "/dev/input/event"].iter().any(|start| text.starts_with(start))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_asked_for_goes_before_what_is_found() {
        let folder = tempfile::tempdir().unwrap();
        let home = folder.path().to_owned();
        let mut around = Surroundings { home: Some(home.clone()), ..Surroundings::default() };
        let users = home.join(".config/tenths/bench.toml");
        // If the user has no file, `config/bench.toml` of the folder in which the tests run is found.
        if let Err(none) = around.find(None) {
            assert!(none.to_string().contains(users.to_str().unwrap()), "{none}");
        }
        around.config = Some(PathBuf::from("from/environment.toml"));
        assert_eq!(around.find(None).unwrap(), Path::new("from/environment.toml"));
        assert_eq!(around.find(Some(Path::new("flag.toml"))).unwrap(), Path::new("flag.toml"));
    }

    #[test]
    fn state_lies_where_the_supervisor_or_the_user_keeps_it() {
        let path = |text: &str| Some(PathBuf::from(text));
        let mut around = Surroundings::default();
        assert_eq!(around.state(), None);
        around.home = path("/home/ada");
        assert_eq!(around.state(), path("/home/ada/.local/state/tenths"));
        around.state_home = path("/home/ada/s");
        assert_eq!(around.state(), path("/home/ada/s/tenths"));
        around.state_directory = path("/var/lib/tenths");
        assert_eq!(around.state(), path("/var/lib/tenths"));
    }

    #[test]
    fn a_socket_path_has_107_bytes_and_a_zero() {
        let folder = |bytes: usize| PathBuf::from(format!("/{}", "x".repeat(bytes - 1)));
        assert_eq!(socket_excess(&folder(107 - "/tenths.sock".len())), 0);
        assert_eq!(socket_excess(&folder(108 - "/tenths.sock".len())), 1);
    }

    #[test]
    fn the_stable_name_is_the_link_to_the_same_device() {
        let folder = tempfile::tempdir().unwrap();
        let (device, other) = (folder.path().join("ttyUSB3"), folder.path().join("ttyUSB4"));
        let by_id = folder.path().join("by-id");
        std::fs::create_dir(&by_id).unwrap();
        for path in [&device, &other] {
            std::fs::write(path, "").unwrap();
        }
        std::os::unix::fs::symlink("../ttyUSB3", by_id.join("usb-cable-07")).unwrap();
        let around = Surroundings { by_id: by_id.clone(), ..Surroundings::default() };
        assert_eq!(around.stable_name(&device), Some(by_id.join("usb-cable-07")));
        assert_eq!(around.stable_name(&other), None);
        assert!(is_unstable(Path::new("/dev/ttyUSB0")) && !is_unstable(Path::new("/dev/ttyS0")));
    }
}
