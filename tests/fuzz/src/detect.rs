//! The form of a text found, and the same table read with it.
#![no_main]

include!("sheet_modules.rs");

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    if !bytes.starts_with(b"PK") && !bytes.starts_with(b"\xd0\xcf") {
        find(bytes);
    }
});
