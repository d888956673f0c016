//! A file's bytes as the journal keeps them: deflated, in letters, with their hash.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use miniz_oxide::deflate::compress_to_vec;
use miniz_oxide::inflate::decompress_to_vec_with_limit;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use super::MOST_BYTES;

/// Most bytes of a file kept in the journal once deflated: some 40 hours in the wordiest format.
pub const MOST_PACKED: usize = 6 * 1024 * 1024;

/// Effort of the packing, 0 to 10.
const LEVEL: u8 = 6;

/// A packed file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Packed {
    /// SHA-256 of the file's bytes, in hexadecimal.
    pub sha256: String,
    /// How many bytes it has.
    pub bytes: usize,
    /// The bytes deflated (RFC 1951), in base 64 (RFC 4648, 4).
    pub content: String,
}

/// Why a file cannot be packed or unpacked.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PackError {
    /// Still too large when packed.
    #[error(
        "the file has {packed} bytes when packed; at most {MOST_PACKED} are kept: cut the ride out of the recording"
    )]
    TooLarge {
        /// Bytes when packed.
        packed: usize,
    },
    /// What is stored is not what was packed.
    #[error("the stored file cannot be unpacked: {0}")]
    Damaged(&'static str),
}

impl Packed {
    /// Packs a file.
    ///
    /// # Errors
    /// [`PackError::TooLarge`]
    pub fn new(file: &[u8]) -> Result<Self, PackError> {
        let deflated = compress_to_vec(file, LEVEL);
        if deflated.len() > MOST_PACKED {
            let packed = deflated.len();
            return Err(PackError::TooLarge { packed });
        }
        Ok(Self {
            sha256: hash(file),
            bytes: file.len(),
            content: STANDARD.encode(deflated),
        })
    }

    /// The file as it was.
    ///
    /// # Errors
    /// [`PackError::Damaged`]
    pub fn file(&self) -> Result<Vec<u8>, PackError> {
        let deflated = STANDARD
            .decode(&self.content)
            .map_err(|_| PackError::Damaged("it is not in base 64"))?;
        let file = decompress_to_vec_with_limit(&deflated, MOST_BYTES)
            .map_err(|_| PackError::Damaged("it is not deflated, or is too long"))?;
        if hash(&file) == self.sha256 {
            Ok(file)
        } else {
            Err(PackError::Damaged("its hash is another one"))
        }
    }
}

fn hash(file: &[u8]) -> String {
    Sha256::digest(file)
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_comes_back_as_it_was() {
        // FIPS 180-2, appendix B.1: SHA-256 of `abc`.
        let packed = Packed::new(b"abc").unwrap();
        assert_eq!(
            packed.sha256,
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
        assert_eq!(
            (packed.bytes, packed.file().unwrap().as_slice()),
            (3, &b"abc"[..])
        );
        let long: Vec<u8> = (0..200_000_u32).map(|i| (i % 251) as u8).collect();
        let packed = Packed::new(&long).unwrap();
        assert!(packed.content.len() < long.len() / 10);
        assert_eq!(packed.file().unwrap(), long);
    }

    #[test]
    fn what_was_changed_does_not_come_back() {
        let good = Packed::new(b"time_s,speed\n0,3\n").unwrap();
        for content in ["?", "AAAA", &Packed::new(b"else").unwrap().content] {
            let bad = Packed {
                content: content.to_owned(),
                ..good.clone()
            };
            assert!(matches!(bad.file(), Err(PackError::Damaged(_))), "{content}");
        }
    }

    #[test]
    fn what_stays_large_is_refused() {
        // Bytes that do not repeat: the hash of one number after the other.
        let noise: Vec<u8> = (0..=MOST_PACKED as u64 / 32)
            .flat_map(|i| Sha256::digest(i.to_be_bytes()))
            .collect();
        assert!(matches!(Packed::new(&noise), Err(PackError::TooLarge { .. })));
    }
}
