//! Text read in any form stated.
#![no_main]

include!("sheet_modules.rs");

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    let (form, rest) = drawn(bytes);
    if !rest.starts_with(b"PK") && !rest.starts_with(b"\xd0\xcf") {
        read(rest, &form);
    }
});
