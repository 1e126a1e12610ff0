//! Numbers in the embedded tables.

/// A little-endian number of `width` bytes whose bytes lie in planes of `count` values, from `at` on.
pub(super) fn planar(bytes: &[u8], at: usize, count: usize, index: usize, width: usize) -> u32 {
    (0..width).rev().fold(0, |number, byte| {
        number << 8 | u32::from(bytes.get(at + byte * count + index).copied().unwrap_or_default())
    })
}

/// A little-endian number of four bytes.
pub(super) fn word(bytes: &[u8], at: usize) -> usize {
    planar(bytes, at, 1, 0, 4) as usize
}
