//! XML.
#![no_main]

include!("sheet_modules.rs");

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    if bytes.first() == Some(&b'<') {
        read(bytes, &SheetForm::plain());
    }
});
