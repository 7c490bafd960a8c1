//! Nothing names a folder of the machine it was written on, or the host of a package registry.

use super::{Finding, numbered_lines};
use crate::tree::Tree;

/// Folders of one machine. The parts are joined here so that this file does not name them itself.
const FOLDERS: &[&str] = &[
    concat!("/wo", "rk/"),
    concat!("/ro", "ot/"),
    concat!("/t", "mp/"),
    concat!("/ho", "me/"),
    concat!("shar", "ed/"),
];

const HOSTS: &[&str] = &[
    concat!("crates", ".io"),
    concat!("static.rust", "-lang.org"),
    concat!("npm", "js.org"),
    concat!("npm", "js.com"),
    concat!("yarn", "pkg.com"),
    concat!("py", "pi.org"),
    concat!("python", "hosted.org"),
    concat!("deb.", "debian.org"),
    concat!("security.", "debian.org"),
];

/// Cargo writes the registry's address into its lock file itself.
const NOT_READ: &[&str] = &["Cargo.lock"];

/// Searches every text, documents and code alike; a program asks the system for its temporary folder.
pub(super) fn findings(tree: &Tree) -> Vec<Finding> {
    let mut found = Vec::new();
    for (path, text) in tree.texts(&[]).filter(|(path, _)| !NOT_READ.contains(path)) {
        for (line, content) in numbered_lines(text) {
            let folders = FOLDERS.iter().filter(|folder| begins_a_path(content, folder));
            let hosts = HOSTS.iter().filter(|host| content.contains(**host));
            found.extend(folders.chain(hosts).map(|name| Finding::at_line(path, line, format!("names {name}"))));
        }
    }
    found
}

/// Whether `folder` stands in the line and is not the tail of a longer path of ours.
fn begins_a_path(line: &str, folder: &str) -> bool {
    line.match_indices(folder).any(|(at, _)| {
        let before = line[..at].chars().next_back();
        before.is_none_or(|c| !(c.is_alphanumeric() || "_-}".contains(c)))
    })
}

#[cfg(test)]
mod tests {
    use super::{FOLDERS, HOSTS, findings};
    use crate::tree::Tree;

    #[test]
    fn each_folder_and_host_is_found() {
        for name in FOLDERS.iter().chain(HOSTS) {
            let text = format!("see {name}x\n");
            assert_eq!(findings(&Tree::of(&[("docs/a.md", &text)])).len(), 1, "{name}");
        }
    }

    #[test]
    fn longer_paths_of_ours_and_the_lock_file_are_let_pass() {
        let tail = format!("docs{} and un{}", FOLDERS[0], FOLDERS[4]);
        let lock = format!("registry+https://{}", HOSTS[0]);
        assert_eq!(findings(&Tree::of(&[("docs/a.md", &tail), ("Cargo.lock", &lock)])), []);
    }
}
