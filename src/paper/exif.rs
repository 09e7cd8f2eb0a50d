//! Which way up a picture is shown, as cameras note it: tag 0x0112 of the first directory of an Exif block
//! (CIPA DC-008, TIFF 6.0 section 2). Nothing else of such a block is read.

/// The tag of the orientation.
const ORIENTATION: u16 = 0x0112;
/// The type of its value: an unsigned number of 16 bits.
const SHORT: u16 = 3;
/// The orientation of a picture that is shown as it is stored.
pub(crate) const UPRIGHT: u8 = 1;

struct Block<'a> {
    bytes: &'a [u8],
    little: bool,
}

impl Block<'_> {
    fn short(&self, at: usize) -> Option<u16> {
        let bytes = self.bytes.get(at..)?.first_chunk()?;
        Some(if self.little { u16::from_le_bytes(*bytes) } else { u16::from_be_bytes(*bytes) })
    }

    fn long(&self, at: usize) -> Option<usize> {
        let bytes = self.bytes.get(at..)?.first_chunk()?;
        let long =
            if self.little { u32::from_le_bytes(*bytes) } else { u32::from_be_bytes(*bytes) };
        usize::try_from(long).ok()
    }
}

/// The orientation in a block, 1 to 8; [`UPRIGHT`] where it says nothing that can be understood.
pub(crate) fn orientation(block: &[u8]) -> u8 {
    noted(block).filter(|found| (1..=8).contains(found)).unwrap_or(UPRIGHT)
}

fn noted(bytes: &[u8]) -> Option<u8> {
    let little = match bytes.get(..4)? {
        b"II*\0" => true,
        b"MM\0*" => false,
        _ => return None,
    };
    let block = Block { bytes, little };
    let directory = block.long(4)?;
    let count = usize::from(block.short(directory)?);
    let entries = (0..count).map(|entry| directory.checked_add(2 + 12 * entry));
    for at in entries {
        let at = at?;
        if block.short(at)? == ORIENTATION {
            let plain = block.short(at + 2)? == SHORT && block.long(at + 4)? == 1;
            return block.short(at + 8).filter(|_| plain).and_then(|value| value.try_into().ok());
        }
    }
    None
}

/// A block that says nothing but the orientation.
pub(crate) fn only(orientation: u8) -> Vec<u8> {
    let mut block = b"MM\0*\0\0\0\x08\0\x01".to_vec();
    block.extend(ORIENTATION.to_be_bytes());
    block.extend(SHORT.to_be_bytes());
    block.extend([0, 0, 0, 1, 0, orientation, 0, 0]);
    block.extend([0, 0, 0, 0]);
    block
}
