//! A number made of a text, the same on every machine and with every compiler: names of streams, versions of pages, ports of files.

/// FNV-1a, 64 bits (Fowler, Noll and Vo; draft-eastlake-fnv).
#[must_use]
pub fn fnv1a(text: &[u8]) -> u64 {
    text.iter().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3)
    })
}

#[cfg(test)]
mod tests {
    /// As published with the algorithm.
    #[test]
    fn published_values() {
        assert_eq!(super::fnv1a(b""), 0xcbf2_9ce4_8422_2325);
        assert_eq!(super::fnv1a(b"a"), 0xaf63_dc4c_8601_ec8c);
    }
}
