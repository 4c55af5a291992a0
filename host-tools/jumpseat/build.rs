//! Builds again when the demo drive changes; the macro that embeds it cannot say so.

fn main() {
    println!("cargo::rerun-if-changed=demo");
}
