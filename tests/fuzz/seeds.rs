//! Writes what every target begins with into a folder: for each a folder of whole examples, and a
//! dictionary of the tokens of its format.

use std::fs;
use std::io;
use std::path::PathBuf;

/// Longest example: the fuzzer is slow with more, and learns nothing by it.
const LONGEST: usize = 4_000;

fn main() -> io::Result<()> {
    let Some(folder) = std::env::args_os().nth(1).map(PathBuf::from) else {
        return Err(io::Error::other("name a folder, such as `seeds corpus`"));
    };
    for (name, reader) in lockring_fuzz::TARGETS {
        fs::create_dir_all(folder.join(name))?;
        for (number, seed) in reader.seeds.iter().enumerate() {
            let piece = &seed[..seed.len().min(LONGEST)];
            fs::write(folder.join(name).join(format!("example-{number}")), piece)?;
        }
        let escape = |token: &&str| {
            let bytes = token.bytes().map(|byte| format!("\\x{byte:02x}"));
            format!("\"{}\"\n", bytes.collect::<String>())
        };
        let tokens: String = reader.tokens.iter().map(escape).collect();
        fs::write(folder.join(format!("{name}.tokens")), tokens)?;
    }
    Ok(())
}
