#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| fullset_fuzz::photos::hold(bytes));
