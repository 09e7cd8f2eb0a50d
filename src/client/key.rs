//! Keys of requests: a request repeated with the same key after a broken connection is the same request.

use std::collections::hash_map::RandomState;
use std::hash::{BuildHasher, Hasher};
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{SystemTime, UNIX_EPOCH};

/// How many keys this process has made.
static MADE: AtomicU64 = AtomicU64::new(0);

/// A new key: 32 hexadecimal digits from the clock, the process, a counter, and the randomness with which the
/// standard library seeds its maps.
pub(crate) fn fresh() -> String {
    let since_1970 = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    let random = RandomState::new().build_hasher().finish();
    let mut hash = blake3::Hasher::new();
    hash.update(&since_1970.as_nanos().to_le_bytes());
    hash.update(&std::process::id().to_le_bytes());
    hash.update(&MADE.fetch_add(1, Ordering::Relaxed).to_le_bytes());
    hash.update(&random.to_le_bytes());
    hash.finalize().to_hex().chars().take(32).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_keys_are_the_same_and_the_service_takes_them() {
        let keys: std::collections::BTreeSet<String> = (0..1000).map(|_| fresh()).collect();
        assert_eq!(keys.len(), 1000);
        assert!(
            keys.iter().all(|key| key.len() == 32 && key.bytes().all(|b| b.is_ascii_hexdigit()))
        );
    }
}
