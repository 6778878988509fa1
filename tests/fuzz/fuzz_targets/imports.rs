#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| binewright_tests::hostile::imports(bytes));
