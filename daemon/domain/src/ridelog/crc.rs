//! The check sum of FIT files: CRC-16/ARC, reflected polynomial 0xA001, start 0.

/// Check sum of bytes; zero over bytes followed by their own check sum, low byte first.
pub(super) fn crc16(bytes: &[u8]) -> u16 {
    bytes.iter().fold(0, |crc, byte| {
        (0..8).fold(crc ^ u16::from(*byte), |crc, _| {
            if crc & 1 == 1 {
                (crc >> 1) ^ 0xA001
            } else {
                crc >> 1
            }
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn check_value() {
        // The check value CRC catalogues give for CRC-16/ARC over the nine digits (from memory).
        assert_eq!(crc16(b"123456789"), 0xBB3D);
        assert_eq!(crc16(b"123456789\x3d\xbb"), 0);
        assert_eq!(crc16(b""), 0);
    }
}
