//! Changes bytes at random, and runs tests on them for a limited time.

use std::io::Write;
use std::time::{Duration, Instant};

use proptest::prelude::*;
use proptest::sample::Index;
use proptest::test_runner::{Config, RngAlgorithm, TestCaseError, TestError, TestRng, TestRunner};

/// Pieces that readers trip over more often than over chance.
const TOKENS: [&str; 24] = [
    "\r\n",
    "\r",
    "\n",
    "\"",
    "\"\"",
    "'",
    "\\",
    ",",
    ";",
    "\t",
    ".",
    "..",
    "-",
    "--",
    "+",
    "e9",
    "0000000000",
    "9223372036854775808",
    "\u{feff}",
    "\u{202e}",
    "null",
    "{}",
    "[[part]]\n",
    " = ",
];

/// One change.
#[derive(Debug, Clone)]
enum Change {
    Flip(Index, u8),
    Set(Index, u8),
    Insert(Index, Vec<u8>),
    Token(Index, usize),
    Delete(Index, usize),
    Repeat(Index, usize, usize),
    Swap(Index, Index, usize),
    Splice(Index, Index, Index, usize),
    Cut(Index),
}

fn change() -> impl Strategy<Value = Change> {
    let at = any::<Index>;
    prop_oneof![
        3 => (at(), 0..8_u8).prop_map(|(at, bit)| Change::Flip(at, bit)),
        2 => (at(), any::<u8>()).prop_map(|(at, byte)| Change::Set(at, byte)),
        1 => (at(), prop::collection::vec(any::<u8>(), 1..9)).prop_map(|(at, bytes)| Change::Insert(at, bytes)),
        3 => (at(), 0..TOKENS.len()).prop_map(|(at, token)| Change::Token(at, token)),
        2 => (at(), 1..40_usize).prop_map(|(at, many)| Change::Delete(at, many)),
        2 => (at(), 1..40_usize, 1..6_usize).prop_map(|(at, many, times)| Change::Repeat(at, many, times)),
        2 => (at(), at(), 1..40_usize).prop_map(|(one, other, many)| Change::Swap(one, other, many)),
        2 => (at(), at(), at(), 1..200_usize).prop_map(|(at, which, from, many)| Change::Splice(at, which, from, many)),
        1 => at().prop_map(Change::Cut),
    ]
}

/// An entry of the corpus with some changes, the fewest of them when one fails.
pub(crate) fn changed(corpus: &'static [Vec<u8>]) -> impl Strategy<Value = Bytes> {
    let changes = prop::collection::vec(change(), 0..7);
    (any::<Index>(), changes).prop_map(move |(which, changes)| {
        let mut bytes = corpus[which.index(corpus.len())].clone();
        for change in &changes {
            apply(&mut bytes, change, corpus);
        }
        bytes.truncate(1 << 17);
        Bytes(bytes)
    })
}

fn apply(bytes: &mut Vec<u8>, change: &Change, corpus: &[Vec<u8>]) {
    let place = |at: &Index| at.index(bytes.len() + 1);
    let within = |at: usize, many: usize| at..(at + many).min(bytes.len());
    match change {
        Change::Flip(at, bit) => {
            let at = place(at);
            if let Some(byte) = bytes.get_mut(at) {
                *byte ^= 1 << bit;
            }
        }
        Change::Set(at, new) => {
            let at = place(at);
            if let Some(byte) = bytes.get_mut(at) {
                *byte = *new;
            }
        }
        Change::Insert(at, new) => {
            let at = place(at);
            bytes.splice(at..at, new.iter().copied());
        }
        Change::Token(at, token) => {
            let at = place(at);
            bytes.splice(at..at, TOKENS[*token].bytes());
        }
        Change::Delete(at, many) => {
            let range = within(place(at), *many);
            bytes.drain(range);
        }
        Change::Repeat(at, many, times) => {
            let range = within(place(at), *many);
            let (at, piece) = (range.end, bytes[range].repeat(*times));
            bytes.splice(at..at, piece);
        }
        Change::Swap(one, other, many) => {
            let (one, other) = (within(place(one), *many), within(place(other), *many));
            let (first, second) = (bytes[one.clone()].to_vec(), bytes[other.clone()].to_vec());
            if one.end <= other.start {
                bytes.splice(other, first);
                bytes.splice(one, second);
            }
        }
        Change::Splice(at, which, from, many) => {
            let other = &corpus[which.index(corpus.len())];
            let from = from.index(other.len() + 1);
            let (at, piece) = (place(at), other[from..(from + many).min(other.len())].to_vec());
            bytes.splice(at..at, piece);
        }
        Change::Cut(at) => {
            let at = place(at);
            bytes.truncate(at);
        }
    }
}

/// Bytes that print so that they can be put into a fixture.
#[derive(Clone)]
pub(crate) struct Bytes(pub(crate) Vec<u8>);

impl std::fmt::Debug for Bytes {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "b\"{}\"", self.0.escape_ascii())
    }
}

/// Tries inputs for as long as `TENTHS_FUZZ` says, in seconds for each target; one if it says nothing.
/// `TENTHS_SEED` gives other dice. Prints how many were tried.
pub(crate) fn tried<S: Strategy>(
    target: &str,
    strategy: &S,
    holds: impl Fn(S::Value) -> Result<(), TestCaseError>,
) where
    S::Value: std::fmt::Debug + Clone,
{
    const BATCH: u32 = 64;
    let number = |name: &str| std::env::var(name).ok().and_then(|text| text.parse::<u64>().ok());
    let (seconds, seed) = (number("TENTHS_FUZZ").unwrap_or(1), number("TENTHS_SEED").unwrap_or(7));
    let until = Instant::now() + Duration::from_secs(seconds);
    let mut batch = 0_u64;
    while batch == 0 || Instant::now() < until {
        let mut dice = [0; 32];
        dice[..8].copy_from_slice(&seed.to_le_bytes());
        dice[8..16].copy_from_slice(&batch.to_le_bytes());
        let config = Config {
            cases: BATCH,
            failure_persistence: None,
            max_shrink_iters: 20_000,
            ..Config::default()
        };
        let rng = TestRng::from_seed(RngAlgorithm::ChaCha, &dice);
        let mut runner = TestRunner::new_with_rng(config, rng);
        match runner.run(strategy, &holds) {
            Ok(()) => {}
            Err(TestError::Fail(why, input)) => {
                panic!("{target}, seed {seed}: {why}\ninput: {input:?}")
            }
            Err(TestError::Abort(why)) => panic!("{target}: {why}"),
        }
        batch += 1;
    }
    let line = format!("{target}: {} inputs in {seconds} s\n", batch * u64::from(BATCH));
    std::io::stderr().lock().write_all(line.as_bytes()).unwrap();
}

/// The files of a folder below `fixtures` or `config` with some ending, each whole.
pub(crate) fn files(folder: &str, ending: &str) -> Vec<Vec<u8>> {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let mut paths: Vec<_> =
        std::fs::read_dir(root).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    let found: Vec<_> =
        paths.iter().filter(|path| path.to_string_lossy().ends_with(ending)).collect();
    assert!(!found.is_empty(), "{folder} has no *{ending}");
    found.into_iter().map(|path| std::fs::read(path).unwrap()).collect()
}

/// A corpus that lives as long as the test.
pub(crate) fn corpus(entries: Vec<Vec<u8>>) -> &'static [Vec<u8>] {
    Vec::leak(entries)
}
