//! A hash as files and people write it: 64 hexadecimal digits.

use lockring_domain::entry::Hash;

/// A hash as text.
pub(crate) fn hexadecimal(hash: &Hash) -> String {
    const DIGITS: [char; 16] = [
        '0', '1', '2', '3', '4', '5', '6', '7', '8', '9', 'a', 'b', 'c', 'd', 'e', 'f',
    ];
    let mut text = String::with_capacity(2 * hash.len());
    for byte in hash {
        text.push(DIGITS[usize::from(byte >> 4)]);
        text.push(DIGITS[usize::from(byte & 0xf)]);
    }
    text
}

/// A hash from text.
pub(crate) fn hash(text: &str) -> Result<Hash, String> {
    let bad = || format!("`{text}` is no hash; expected 64 hexadecimal digits");
    if text.len() != 64 || !text.is_ascii() {
        return Err(bad());
    }
    let mut hash = [0; 32];
    for (at, byte) in hash.iter_mut().enumerate() {
        *byte = u8::from_str_radix(&text[2 * at..2 * at + 2], 16).map_err(|_| bad())?;
    }
    Ok(hash)
}
