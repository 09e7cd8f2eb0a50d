//! What a disk may hold after the power was cut: each sector written since the last sync is there or not,
//! in any order.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use super::dice::Dice;

/// The bytes that a disk writes completely or not at all.
const SECTOR: usize = 512;

/// Files that are no part of the record: locks, and files that SQLite makes again at a start.
const LEFT_OUT: [&str; 3] = [".lock", "-shm", ".sock"];

/// The files of a state folder at one moment, by name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Image(BTreeMap<String, Vec<u8>>);

impl Image {
    pub(super) fn of_folder(folder: &Path) -> Self {
        let name = |entry: &fs::DirEntry| entry.file_name().into_string().unwrap();
        let entries = fs::read_dir(folder).unwrap().map(Result::unwrap);
        let counts = |entry: &fs::DirEntry| {
            let name = name(entry);
            entry.file_type().unwrap().is_file() && !LEFT_OUT.iter().any(|end| name.ends_with(end))
        };
        let read = |entry: fs::DirEntry| (name(&entry), fs::read(entry.path()).unwrap());
        Self(entries.filter(counts).map(read).collect())
    }

    /// Writes these files into the folder, replacing those in it.
    pub(super) fn lay(&self, folder: &Path) {
        for entry in fs::read_dir(folder).unwrap().map(Result::unwrap) {
            if entry.file_type().unwrap().is_file() {
                fs::remove_file(entry.path()).unwrap();
            }
        }
        for (name, bytes) in &self.0 {
            fs::write(folder.join(name), bytes).unwrap();
        }
    }

    /// A state between this one, which is certainly on the disk, and a later one.
    pub(super) fn torn(&self, later: &Self, dice: &mut Dice) -> Self {
        let empty = Vec::new();
        let file = |(name, after): (&String, &Vec<u8>), dice: &mut Dice| {
            (name.clone(), torn(self.0.get(name).unwrap_or(&empty), after, dice))
        };
        Self(later.0.iter().map(|one| file(one, dice)).collect())
    }

    /// The same with one file taken from another image.
    pub(super) fn with(mut self, name: &str, of: &Self) -> Self {
        match of.0.get(name) {
            Some(bytes) => drop(self.0.insert(name.to_owned(), bytes.clone())),
            None => drop(self.0.remove(name)),
        }
        self
    }

    /// Whether a file is the same in both.
    pub(super) fn holds(&self, name: &str, of: &Self) -> bool {
        self.0.get(name) == of.0.get(name)
    }

    /// Changes one bit of one file. Returns its name and place.
    pub(super) fn flip(&mut self, dice: &mut Dice) -> String {
        let mut files: Vec<_> = self.0.iter_mut().filter(|(_, bytes)| !bytes.is_empty()).collect();
        let at = dice.index(files.len());
        let (name, bytes) = &mut files[at];
        let (byte, bit) = (dice.index(bytes.len()), dice.below(8));
        bytes[byte] ^= 1 << bit;
        format!("{name}: byte {byte}, bit {bit}")
    }
}

/// The order in which changed sectors reached the disk before the power was cut.
enum Order {
    /// Each on its own.
    Any,
    /// From the front, or from the back, up to some place.
    Front(usize),
    Back(usize),
    /// All but one, or only one.
    But(usize),
    Only(usize),
}

fn torn(before: &[u8], after: &[u8], dice: &mut Dice) -> Vec<u8> {
    let count = before.len().max(after.len()).div_ceil(SECTOR);
    let part = |of: &[u8], at: usize| {
        let from = (at * SECTOR).min(of.len());
        of[from..((at + 1) * SECTOR).min(of.len())].to_vec()
    };
    let changed: Vec<usize> =
        (0..count).filter(|at| part(before, *at) != part(after, *at)).collect();
    if changed.is_empty() {
        return after.to_vec();
    }
    let at = dice.index(changed.len());
    let order = match dice.below(5) {
        0 => Order::Front(changed[at]),
        1 => Order::Back(changed[at]),
        2 => Order::But(changed[at]),
        3 => Order::Only(changed[at]),
        _ => Order::Any,
    };
    // The length of a file is written separately from its content.
    let longer = if dice.one_in(2) { before.len() } else { after.len() };
    let mut image = before.to_vec();
    image.resize(longer, 0);
    for sector in changed {
        let written = match order {
            Order::Any => dice.one_in(2),
            Order::Front(end) => sector < end,
            Order::Back(begin) => sector > begin,
            Order::But(left_out) => sector != left_out,
            Order::Only(one) => sector == one,
        };
        if written {
            let new = part(after, sector);
            let (from, to) = (sector * SECTOR, sector * SECTOR + new.len());
            image.resize(image.len().max(to), 0);
            image[from..to].copy_from_slice(&new);
        }
    }
    image
}
