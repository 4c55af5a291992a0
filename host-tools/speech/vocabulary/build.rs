//! Writes `model/vocabulary.tsv` as Rust. A kind that nobody knows, a word that stands
//! twice or a line with too few columns stops the build here; a sense that `WordSense`
//! does not have stops it in the compiler.

use std::collections::HashSet;
use std::error::Error;
use std::fmt::Write as _;
use std::path::Path;
use std::{env, fs};

/// The table, beside the weights that were trained with it.
const TABLE: &str = "../model/vocabulary.tsv";

fn main() -> Result<(), Box<dyn Error>> {
    println!("cargo:rerun-if-changed={TABLE}");
    let table = fs::read_to_string(TABLE).map_err(|error| format!("{TABLE}: {error}"))?;
    let path = Path::new(&env::var("OUT_DIR")?).join("table.rs");
    fs::write(&path, source(&table)?).map_err(|error| format!("{}: {error}", path.display()))?;
    Ok(())
}

/// The tokens as a constant, and the senses of those words that have one as a function.
fn source(table: &str) -> Result<String, Box<dyn Error>> {
    let (mut tokens, mut senses) = (String::new(), String::new());
    let mut words = HashSet::new();
    for (index, line) in table.lines().enumerate() {
        if line.is_empty() || line.starts_with('#') {
            continue;
        }
        let wrong = |what: &str| format!("{TABLE}, line {}: {what}", index + 1);
        let columns: Vec<&str> = line.split('\t').collect();
        let [word, kind, symbol, name, _spoken, sense] = columns[..] else {
            return Err(wrong("a line has six columns").into());
        };
        if !words.insert(word) {
            return Err(wrong(&format!("'{word}' stands there twice")).into());
        }
        let kind = match kind {
            "itu" => "Itu",
            "letter" => "Letter",
            "other" => "OtherSpelling",
            "figure" => "Figure",
            "number" => "Number",
            "word" => "Word",
            "name" => "Name",
            "talk" => "Talk",
            other => return Err(wrong(&format!("there is no kind '{other}'")).into()),
        };
        let symbol = if symbol == "-" { "" } else { symbol };
        let is_name = match name {
            "name" => true,
            "-" => false,
            other => return Err(wrong(&format!("'name' or '-', not '{other}'")).into()),
        };
        let sense = match sense {
            "-" => "None".to_owned(),
            named => format!("Some(WordSense::{})", camel_case(named)),
        };
        writeln!(
            tokens,
            "VocabularyToken {{ word: {word:?}, kind: TokenKind::{kind}, symbol: {symbol:?}, \
             is_name: {is_name}, sense: {sense} }},"
        )?;
        if sense != "None" {
            writeln!(senses, "{word:?} => {sense},")?;
        }
    }
    Ok(format!(
        "const TOKENS: &[VocabularyToken] = &[\n{tokens}];\n\
         fn table_sense(word: &str) -> Option<WordSense> {{\nmatch word {{\n{senses}_ => None,\n}}\n}}\n"
    ))
}

/// "general_call" as "GeneralCall".
fn camel_case(name: &str) -> String {
    name.split('_')
        .flat_map(|part| {
            let first = part.chars().take(1).map(|c| c.to_ascii_uppercase());
            first.chain(part.chars().skip(1)).collect::<Vec<_>>()
        })
        .collect()
}
