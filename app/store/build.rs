//! A new migration is compiled in without a clean build.

fn main() {
    println!("cargo:rerun-if-changed=migrations");
}
