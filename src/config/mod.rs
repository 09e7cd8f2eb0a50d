//! Reads the files that people write into checked set-ups. All findings come at once, with file, line and
//! what to do. Nothing is started here.

mod changes;
mod drop;
mod excerpt;
pub mod finding;
mod gauge;
pub mod keys;
mod load;
mod people;
mod place;
pub mod plan;
mod port;
pub mod profile;
mod profiles;
pub mod reader;
mod shop;
mod sound;
mod station;
mod text;
mod words;

pub use changes::changes;
pub use drop::{Complete, Drop, Tags};
pub use excerpt::Excerpt;
pub use finding::{Finding, Level};
pub use load::{
    Checked, Loaded, Whereabouts, check_all, likely_states, likely_unit, load, load_in, people_of,
    plans_folder, sound_of, whereabouts,
};
pub use place::{MACHINE_CONFIG, MACHINE_STATE, NotFound, SOCKET, Surroundings};
pub use plan::parse_plan;
pub use port::{NoPort, Parity, Port, PortName};
pub use profile::parse_profile;
pub use profiles::all_profiles;
pub use shop::{Broker, Database, Links, Reach, Secret, Shop, is_bench_name, links_of, shop_of};
pub use sound::{Sound, Voice};
pub use station::{Device, DeviceKind, ModemLine};
pub use text::LARGEST as LARGEST_FILE;

/// The configuration file to read, in the surroundings of this process; see [`Surroundings::find`].
///
/// # Errors
/// When none is named and none is found.
pub fn find(flag: Option<&std::path::Path>) -> Result<std::path::PathBuf, NotFound> {
    Surroundings::of_process().find(flag)
}
