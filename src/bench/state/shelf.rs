//! An ordered map. A copy costs nothing and a change little, however large it is: the entries are in small
//! boards that copies share, and a change copies one board.

use std::fmt;
use std::iter::{FlatMap, Map, Skip};
use std::slice::Iter;
use std::sync::Arc;

/// The most entries on one board. A change copies at most this many, and one pointer for each board.
const MOST: usize = 64;

type Board<K, V> = Arc<Vec<(K, V)>>;

/// The entries of a shelf, in order.
pub type Entries<'a, K, V> =
    Map<FlatMap<Iter<'a, Board<K, V>>, Iter<'a, (K, V)>, OnBoard<'a, K, V>>, Parts<'a, K, V>>;
/// The keys of [`Entries`].
pub type Keys<'a, K, V> = Map<Entries<'a, K, V>, One<'a, K, V, K>>;
/// The values of [`Entries`].
pub type Values<'a, K, V> = Map<Entries<'a, K, V>, One<'a, K, V, V>>;

type OnBoard<'a, K, V> = fn(&'a Board<K, V>) -> Iter<'a, (K, V)>;
type Parts<'a, K, V> = fn(&'a (K, V)) -> (&'a K, &'a V);
type One<'a, K, V, T> = fn((&'a K, &'a V)) -> &'a T;

/// An ordered map that is shared until it changes.
#[derive(Clone)]
pub struct Shelf<K, V> {
    /// The boards in order; none is empty.
    boards: Arc<Vec<Board<K, V>>>,
    len: usize,
}

impl<K, V> Default for Shelf<K, V> {
    fn default() -> Self {
        Self { boards: Arc::default(), len: 0 }
    }
}

impl<K: Ord + Clone, V: Clone> Shelf<K, V> {
    /// The index of the board that holds a key, or would hold it.
    fn board_of(&self, key: &K) -> usize {
        let after =
            self.boards.partition_point(|board| board.first().is_some_and(|(k, _)| k <= key));
        after.saturating_sub(1)
    }

    fn place(board: &[(K, V)], key: &K) -> Result<usize, usize> {
        board.binary_search_by(|(other, _)| other.cmp(key))
    }

    /// The value of a key.
    pub fn get(&self, key: &K) -> Option<&V> {
        let board = self.boards.get(self.board_of(key))?;
        let at = Self::place(board, key).ok()?;
        Some(&board[at].1)
    }

    /// Whether there is a value for a key.
    pub fn contains_key(&self, key: &K) -> bool {
        self.get(key).is_some()
    }

    /// The value of a key, to be changed.
    pub(super) fn get_mut(&mut self, key: &K) -> Option<&mut V> {
        let on = self.board_of(key);
        let at = Self::place(self.boards.get(on)?, key).ok()?;
        let board = Arc::make_mut(&mut Arc::make_mut(&mut self.boards)[on]);
        Some(&mut board[at].1)
    }

    /// Sets the value of a key and returns the value before.
    pub(super) fn insert(&mut self, key: K, value: V) -> Option<V> {
        let on = self.board_of(&key);
        let boards = Arc::make_mut(&mut self.boards);
        let Some(board) = boards.get_mut(on).map(Arc::make_mut) else {
            boards.push(Arc::new(vec![(key, value)]));
            self.len += 1;
            return None;
        };
        let at = match Self::place(board, &key) {
            Ok(at) => return Some(std::mem::replace(&mut board[at].1, value)),
            Err(at) => at,
        };
        self.len += 1;
        if board.len() < MOST {
            board.insert(at, (key, value));
        } else if at == board.len() {
            // Row numbers rise: a new last entry begins a board of its own, and the others stay full.
            boards.insert(on + 1, Arc::new(vec![(key, value)]));
        } else {
            board.insert(at, (key, value));
            let rest = board.split_off(MOST / 2);
            boards.insert(on + 1, Arc::new(rest));
        }
        None
    }

    /// Removes a key and returns its value.
    pub(super) fn remove(&mut self, key: &K) -> Option<V> {
        let on = self.board_of(key);
        let at = Self::place(self.boards.get(on)?, key).ok()?;
        let boards = Arc::make_mut(&mut self.boards);
        let board = Arc::make_mut(&mut boards[on]);
        let (_, value) = board.remove(at);
        if board.is_empty() {
            boards.remove(on);
        }
        self.len -= 1;
        Some(value)
    }

    /// All entries, in order.
    pub fn iter(&self) -> Entries<'_, K, V> {
        Self::entries(&self.boards)
    }

    fn entries(boards: &[Board<K, V>]) -> Entries<'_, K, V> {
        let on: OnBoard<'_, K, V> = |board| board.iter();
        let parts: Parts<'_, K, V> = |(key, value)| (key, value);
        boards.iter().flat_map(on).map(parts)
    }

    /// All keys, in order.
    pub fn keys(&self) -> Keys<'_, K, V> {
        self.iter().map(|(key, _)| key)
    }

    /// All values, in the order of their keys.
    pub fn values(&self) -> Values<'_, K, V> {
        self.iter().map(|(_, value)| value)
    }

    /// The entries from a key on, in order.
    pub fn from(&self, key: &K) -> Skip<Entries<'_, K, V>> {
        let on = self.board_of(key);
        let at = self.boards.get(on).map_or(0, |board| {
            let (Ok(at) | Err(at)) = Self::place(board, key);
            at
        });
        Self::entries(self.boards.get(on..).unwrap_or_default()).skip(at)
    }

    /// The number of entries.
    #[must_use]
    pub const fn len(&self) -> usize {
        self.len
    }

    /// Whether there are no entries.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.len == 0
    }
}

impl<'a, K: Ord + Clone, V: Clone> IntoIterator for &'a Shelf<K, V> {
    type Item = (&'a K, &'a V);
    type IntoIter = Entries<'a, K, V>;

    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}

impl<K: Ord + Clone, V: Clone + PartialEq> PartialEq for Shelf<K, V> {
    fn eq(&self, other: &Self) -> bool {
        // How the entries are spread over boards does not matter.
        Arc::ptr_eq(&self.boards, &other.boards)
            || (self.len == other.len && self.iter().eq(other.iter()))
    }
}

impl<K: Ord + Clone + fmt::Debug, V: Clone + fmt::Debug> fmt::Debug for Shelf<K, V> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_map().entries(self.iter()).finish()
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use proptest::prelude::*;

    use super::*;

    #[derive(Debug, Clone)]
    enum Do {
        Insert(u16, u32),
        Remove(u16),
        Change(u16, u32),
        Copy,
    }

    fn any_do() -> impl Strategy<Value = Do> {
        prop_oneof![
            4 => (0..600_u16, any::<u32>()).prop_map(|(key, value)| Do::Insert(key, value)),
            2 => (0..600_u16).prop_map(Do::Remove),
            1 => (0..600_u16, any::<u32>()).prop_map(|(key, value)| Do::Change(key, value)),
            1 => Just(Do::Copy),
        ]
    }

    fn alike(shelf: &Shelf<u16, u32>, map: &BTreeMap<u16, u32>) {
        assert!(shelf.iter().eq(map.iter()), "{shelf:?} {map:?}");
        assert!(shelf.iter().rev().eq(map.iter().rev()));
        assert_eq!((shelf.len(), shelf.is_empty()), (map.len(), map.is_empty()));
        for key in (0..601).step_by(7) {
            assert_eq!(shelf.get(&key), map.get(&key));
            assert!(shelf.from(&key).eq(map.range(key..)));
        }
        assert!(shelf.boards.iter().all(|board| (1..=MOST).contains(&board.len())));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        #[test]
        fn it_is_a_map_and_a_copy_stays_as_it_was(all in proptest::collection::vec(any_do(), 0..900)) {
            let (mut shelf, mut map) = (Shelf::default(), BTreeMap::new());
            let mut copies = Vec::new();
            for one in all {
                match one {
                    Do::Insert(key, value) => {
                        prop_assert_eq!(shelf.insert(key, value), map.insert(key, value));
                    }
                    Do::Remove(key) => prop_assert_eq!(shelf.remove(&key), map.remove(&key)),
                    Do::Change(key, value) => {
                        let (one, other) = (shelf.get_mut(&key), map.get_mut(&key));
                        prop_assert_eq!(one.is_some(), other.is_some());
                        if let (Some(one), Some(other)) = (one, other) {
                            (*one, *other) = (value, value);
                        }
                    }
                    Do::Copy => copies.push((shelf.clone(), map.clone())),
                }
            }
            alike(&shelf, &map);
            for (shelf, map) in copies.iter().rev().take(8) {
                alike(shelf, map);
            }
        }
    }

    #[test]
    fn a_change_copies_one_board() {
        let mut shelf = Shelf::default();
        for key in 0..1500_u16 {
            shelf.insert(key, u32::from(key));
        }
        let before = shelf.clone();
        *shelf.get_mut(&700).unwrap() = 0;
        let same = shelf.boards.iter().zip(before.boards.iter());
        let same = same.filter(|(one, other)| Arc::ptr_eq(one, other)).count();
        assert_eq!(
            (same + 1, before.boards.len()),
            (shelf.boards.len(), 1500_usize.div_ceil(MOST))
        );
        assert_eq!((before.get(&700), shelf.get(&700)), (Some(&700), Some(&0)));
    }
}
