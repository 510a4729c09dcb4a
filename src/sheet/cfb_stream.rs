//! Looks through an .xls file before it is read: chains that end, and cells that fit in memory.
//!
//! An .xls is an OLE compound file ([MS-CFB], public): sectors chained by a table, holding a stream of records
//! ([MS-XLS], public). A damaged chain can run in a circle and a damaged row number can ask for gigabytes; both are
//! found here.

use super::MOST_CELLS;

/// Chain entries from here on are marks, not sectors.
const FIRST_MARK: u32 = 0xffff_fffa;
/// Streams shorter than this stand in sectors of 64 bytes.
const MINI_BELOW: usize = 4096;
/// Most cells that the records may announce in advance: all of a sheet of this format, 65,536 by 256.
const MOST_ANNOUNCED: u64 = 65_536 * 256;

/// Why a file is not handed on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum XlsFault {
    /// Chains or records do not hold together.
    Damaged,
    /// No stream of a workbook in it: another program's file.
    NoWorkbook,
    /// A stream of an encrypted workbook.
    Password,
    /// Cells over more ground than is taken.
    TooLarge,
}

/// Looks the file through.
///
/// # Errors
/// What is wrong with it.
pub(super) fn look_through(bytes: &[u8]) -> Result<(), XlsFault> {
    let file = CompoundFile::open(bytes).ok_or(XlsFault::Damaged)?;
    let stream = match (file.entry("Workbook").or_else(|| file.entry("Book")), file.entry("EncryptedPackage")) {
        (Some(entry), _) => file.stream(entry).ok_or(XlsFault::Damaged)?,
        (None, Some(_)) => return Err(XlsFault::Password),
        (None, None) => return Err(XlsFault::NoWorkbook),
    };
    bound_records(&stream)
}

fn u16_at(bytes: &[u8], at: usize) -> Option<u16> {
    Some(u16::from_le_bytes(bytes.get(at..at + 2)?.try_into().ok()?))
}

fn u32_at(bytes: &[u8], at: usize) -> Option<u32> {
    Some(u32::from_le_bytes(bytes.get(at..at + 4)?.try_into().ok()?))
}

fn numbers(bytes: &[u8]) -> impl Iterator<Item = u32> {
    bytes.chunks_exact(4).map(|four| u32::from_le_bytes([four[0], four[1], four[2], four[3]]))
}

struct Entry {
    name: String,
    start: u32,
    length: usize,
}

struct CompoundFile<'a> {
    bytes: &'a [u8],
    sector_size: usize,
    next: Vec<u32>,
    mini_next: Vec<u32>,
    mini_stream: Vec<u8>,
    entries: Vec<Entry>,
}

impl<'a> CompoundFile<'a> {
    fn open(bytes: &'a [u8]) -> Option<Self> {
        let sector_size = match u16_at(bytes, 30)? {
            9 => 512,
            12 => 4096,
            _ => return None,
        };
        let mut file = CompoundFile {
            bytes,
            sector_size,
            next: Vec::new(),
            mini_next: Vec::new(),
            mini_stream: Vec::new(),
            entries: Vec::new(),
        };
        let mut table_sectors: Vec<u32> = numbers(bytes.get(76..512)?).collect();
        let mut more_at = u32_at(bytes, 68)?;
        let mut n_more = 0;
        while more_at < FIRST_MARK {
            n_more += 1;
            if n_more > file.n_sectors() {
                return None;
            }
            table_sectors.extend(numbers(file.sector(more_at)?));
            more_at = table_sectors.pop()?;
        }
        for sector in table_sectors.into_iter().filter(|sector| *sector < FIRST_MARK) {
            if file.next.len() > bytes.len() {
                return None;
            }
            let entries: Vec<u32> = numbers(file.sector(sector)?).collect();
            file.next.extend(entries);
        }
        let directory = file.chained(u32_at(bytes, 48)?, usize::MAX)?;
        file.entries = directory.chunks_exact(128).filter_map(|entry| Entry::read(entry, sector_size)).collect();
        if u32_at(bytes, 64)? > 0 {
            let root = file.entries.first()?;
            file.mini_stream = file.chained(root.start, root.length)?;
            let table = file.chained(u32_at(bytes, 60)?, usize::MAX)?;
            file.mini_next = numbers(&table).collect();
        }
        Some(file)
    }

    fn n_sectors(&self) -> usize {
        self.bytes.len() / self.sector_size + 1
    }

    /// A sector's bytes; the last one may be short.
    fn sector(&self, sector: u32) -> Option<&'a [u8]> {
        let start = (sector as usize).checked_add(1)?.checked_mul(self.sector_size)?;
        let end = (start + self.sector_size).min(self.bytes.len());
        self.bytes.get(start..end).filter(|bytes| !bytes.is_empty())
    }

    /// The first `length` bytes of a chain of sectors; `None` if it runs in a circle or out of the file before that.
    fn chained(&self, start: u32, length: usize) -> Option<Vec<u8>> {
        let mut bytes = Vec::new();
        let mut sector = start;
        let mut n = 0;
        while sector < FIRST_MARK && bytes.len() < length {
            n += 1;
            if n > self.n_sectors() {
                return None;
            }
            bytes.extend_from_slice(self.sector(sector)?);
            sector = *self.next.get(sector as usize)?;
        }
        bytes.truncate(length);
        Some(bytes)
    }

    fn entry(&self, name: &str) -> Option<&Entry> {
        self.entries.iter().find(|entry| entry.name.eq_ignore_ascii_case(name))
    }

    fn stream(&self, entry: &Entry) -> Option<Vec<u8>> {
        if entry.length >= MINI_BELOW {
            return self.chained(entry.start, entry.length);
        }
        let mut bytes = Vec::new();
        let mut sector = entry.start;
        let mut n = 0;
        while sector < FIRST_MARK && bytes.len() < entry.length {
            n += 1;
            if n > self.mini_next.len() {
                return None;
            }
            let start = (sector as usize).checked_mul(64)?;
            bytes.extend_from_slice(self.mini_stream.get(start..(start + 64).min(self.mini_stream.len()))?);
            sector = *self.mini_next.get(sector as usize)?;
        }
        bytes.truncate(entry.length);
        Some(bytes)
    }
}

impl Entry {
    fn read(entry: &[u8], sector_size: usize) -> Option<Self> {
        let units = entry.get(..64)?.chunks_exact(2).map(|two| u16::from_le_bytes([two[0], two[1]]));
        let name = char::decode_utf16(units.take_while(|unit| *unit != 0)).filter_map(Result::ok).collect();
        // The upper half of the length holds nothing in files of small sectors.
        let upper = if sector_size == 512 { 0 } else { u32_at(entry, 124)? };
        let length = (u64::from(upper) << 32) | u64::from(u32_at(entry, 120)?);
        Some(Entry { name, start: u32_at(entry, 116)?, length: usize::try_from(length).ok()? })
    }
}

/// Type and data of each record, up to the first that is cut off.
fn records(stream: &[u8]) -> impl Iterator<Item = (u16, &[u8])> {
    let mut rest = stream;
    std::iter::from_fn(move || {
        let (kind, length) = (u16_at(rest, 0)?, usize::from(u16_at(rest, 2)?));
        let data = rest.get(4..4 + length)?;
        rest = &rest[4 + length..];
        Some((kind, data))
    })
}

/// Bounds the ground the cells of all sheets cover together.
fn bound_records(stream: &[u8]) -> Result<(), XlsFault> {
    // 0x0085 names a sheet and where it starts, 0x000A ends a part.
    let globals = records(stream).take_while(|(kind, _)| *kind != 0x000a);
    let starts: Vec<u32> =
        globals.filter(|(kind, _)| *kind == 0x0085).filter_map(|(_, data)| u32_at(data, 0)).collect();
    let (mut n_cells, mut n_announced) = (0_u64, 0_u64);
    for start in starts {
        let sheet = stream.get(start as usize..).ok_or(XlsFault::Damaged)?;
        let (cells, announced) = ground_of(sheet).ok_or(XlsFault::Damaged)?;
        n_cells += cells;
        n_announced += announced;
        if n_cells > MOST_CELLS as u64 {
            return Err(XlsFault::TooLarge);
        }
        if n_announced > MOST_ANNOUNCED {
            return Err(XlsFault::Damaged);
        }
    }
    Ok(())
}

/// Cells of the rectangle from the first cell of a sheet to its outermost ones, and the cells its records announce.
fn ground_of(sheet: &[u8]) -> Option<(u64, u64)> {
    let (mut n_rows, mut n_columns, mut n_announced, mut depth) = (0_u64, 0_u64, 0_u64, 0_usize);
    for (kind, data) in records(sheet) {
        match kind {
            0x0809 => depth += 1,
            0x000a if depth <= 1 => break,
            0x000a => depth -= 1,
            // The rectangle in use: first row, row behind the last, first column, column behind the last.
            0x0200 if depth <= 1 => {
                let (rows, columns) = match data.len() {
                    10 => (u32::from(u16_at(data, 2)?).saturating_sub(u32::from(u16_at(data, 0)?)), u16_at(data, 6)?),
                    _ => (u32_at(data, 4)?.checked_sub(u32_at(data, 0)?)?, u16_at(data, 10)?),
                };
                n_announced = n_announced.saturating_add(u64::from(rows) * u64::from(columns));
            }
            0x0006 | 0x00bd | 0x00d6 | 0x00fd | 0x0203 | 0x0204 | 0x0205 | 0x027e if depth <= 1 => {
                n_rows = n_rows.max(u64::from(u16_at(data, 0)?) + 1);
                let n_more = if kind == 0x00bd { data.len() as u64 / 6 } else { 0 };
                n_columns = n_columns.max(u64::from(u16_at(data, 2)?) + 1 + n_more);
            }
            _ => (),
        }
    }
    Some((n_rows * n_columns, n_announced))
}

#[cfg(test)]
mod tests {
    use super::*;

    const XLS: &[u8] = include_bytes!("../../fixtures/sheets/groups.xls");

    /// Offset of a record in the fixture, whose sectors stand in order.
    fn record_at(kind: u16) -> usize {
        let stream_at = XLS.windows(4).position(|four| four == [0x09, 0x08, 0x10, 0x00]).expect("a stream starts");
        let mut at = stream_at;
        while u16_at(XLS, at) != Some(kind) {
            at += 4 + usize::from(u16_at(XLS, at + 2).expect("a whole record"));
        }
        at
    }

    #[test]
    fn a_sound_file_passes() {
        assert_eq!(look_through(XLS), Ok(()));
    }

    #[test]
    fn circles_far_cells_and_other_files_are_told_apart() {
        assert_eq!(look_through(&XLS[..600]), Err(XlsFault::Damaged));
        // The chain of the directory leads back to its own first sector.
        let mut circle = XLS.to_vec();
        let directory = u32_at(XLS, 48).expect("whole header");
        let table = 512 * (u32_at(XLS, 76).expect("whole header") as usize + 1);
        circle[table + 4 * directory as usize..][..4].copy_from_slice(&directory.to_le_bytes());
        assert_eq!(look_through(&circle), Err(XlsFault::Damaged));
        // A number cell in row 65,536 and column 65,536.
        let mut far = XLS.to_vec();
        let number = record_at(0x00fd);
        far[number + 4..number + 8].copy_from_slice(&[0xff; 4]);
        assert_eq!(look_through(&far), Err(XlsFault::TooLarge));
        // Four thousand million rows announced.
        let mut announced = XLS.to_vec();
        let rectangle = record_at(0x0200);
        announced[rectangle + 8..rectangle + 12].copy_from_slice(&[0xff; 4]);
        assert_eq!(look_through(&announced), Err(XlsFault::Damaged));
    }
}
