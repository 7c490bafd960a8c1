//! Addresses inside the program.

use job::ids::{CarId, EntryId};

/// A car's sheet.
pub(crate) fn shell(car: CarId) -> String {
    format!("/cars/{car}")
}

/// One zone of a car.
pub(crate) fn zone(car: CarId, instance: &str) -> String {
    format!("/cars/{car}/zones/{instance}")
}

/// The form for a look at one zone.
pub(crate) fn look(car: CarId, instance: &str) -> String {
    format!("/cars/{car}/add?zone={instance}&kind=look#look")
}

/// A car's Next look sheet.
pub(crate) fn next(car: CarId) -> String {
    format!("/cars/{car}/next")
}

/// What would follow from a look, by its key.
pub(crate) fn what_if(car: CarId, key: &str) -> String {
    format!("{}?what={}", next(car), escape(key))
}

/// One entry of a car's record.
pub(crate) fn entry(car: CarId, seq: u64) -> String {
    format!("/cars/{car}/entries/{seq}")
}

/// One question of a car.
pub(crate) fn question(car: CarId, number: usize) -> String {
    format!("/cars/{car}/questions/{number}")
}

/// A part of a car's Colour sheet, such as `toners`.
pub(crate) fn colour(car: CarId, part: &str) -> String {
    format!("/cars/{car}/colour/{part}")
}

/// A piece of work in the background.
pub(crate) fn work(car: CarId, id: EntryId) -> String {
    format!("/cars/{car}/colour/work/{id}")
}

/// One kept recipe of a car.
pub(crate) fn recipe(car: CarId, seq: u64) -> String {
    format!("/cars/{car}/colour/recipes/{seq}")
}

/// One kept brief of a car.
pub(crate) fn brief(car: CarId, seq: u64) -> String {
    format!("/cars/{car}/colour/brief/{seq}")
}

/// A picture of a car.
pub(crate) fn picture(car: CarId, hash: job::ids::Hash) -> String {
    format!("/cars/{car}/pictures/{hash}")
}

/// Text made fit for a query string (RFC 3986, all but unreserved characters escaped).
pub(crate) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for byte in text.bytes() {
        match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' | b'/' => out.push(char::from(byte)),
            _ => out.push_str(&format!("%{byte:02X}")),
        }
    }
    out
}

/// A place to go on to that cannot lead off this site.
pub(crate) fn local(next: &str) -> &str {
    // Browsers read a backslash as a slash, and drop tabs and line ends before they read an address at all.
    let crooked = |c: char| c == '\\' || c.is_control();
    let inside = next.starts_with('/') && !next.starts_with("//") && !next.contains(crooked);
    if inside { next } else { "/" }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_way_on_never_leads_off_the_site() {
        assert_eq!(local("/cars/1?view=left"), "/cars/1?view=left");
        for foreign in ["//elsewhere", "https://elsewhere", "/\\elsewhere", "/\t/elsewhere", ""] {
            assert_eq!(local(foreign), "/");
        }
        assert_eq!(escape("/a b?c=\"d\""), "/a%20b%3Fc%3D%22d%22");
    }
}
