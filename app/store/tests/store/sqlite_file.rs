//! What can be wrong with a file.

use std::fs;
use std::io::{BufRead, BufReader};
use std::os::unix::fs::{FileExt, MetadataExt, PermissionsExt, chown};
use std::os::unix::process::CommandExt;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

use job::chain::verify;
use job::ids::{CarId, Hash};
use job::person::Role;
use job::ports::{Appended, Store, StoreError};
use store::Database;

use crate::places::{Place, all, entry, person, record};

fn address(path: &Path) -> String {
    format!("sqlite:{}", path.display())
}

async fn unreachable(url: &str) -> String {
    match Database::open(url).await {
        Err(StoreError::Unreachable(why)) => why,
        other => panic!("{url}: {other:?}"),
    }
}

#[tokio::test]
async fn an_address_without_a_file_is_refused_in_words() {
    let folder = tempfile::tempdir().unwrap();
    let missing = folder.path().join("not-there");
    assert!(unreachable(&address(&missing.join("shop.db"))).await.contains("there is no folder"));
    assert!(!missing.exists(), "a folder is not made by the way");
    assert!(unreachable(&address(folder.path())).await.contains("is a folder, not a file"));
    assert!(unreachable("sqlite:").await.contains("names no file"));
    assert!(unreachable("sqlite::memory:").await.contains("names no file"));
}

#[tokio::test]
async fn a_path_is_taken_as_it_is_written() {
    let folder = tempfile::tempdir().unwrap();
    for name in ["shop 1.db", "50%.db", "a?b#c.db", "Säge.db"] {
        let path = folder.path().join(name);
        Database::open(&address(&path)).await.unwrap().close().await;
        assert!(path.is_file(), "{name}");
    }
    let slashes = format!("sqlite://{}/two-slashes.db", folder.path().display());
    Database::open(&slashes).await.unwrap().close().await;
    assert!(folder.path().join("two-slashes.db").is_file());
}

#[tokio::test]
async fn a_file_that_is_no_database_is_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("notes.txt");
    for text in ["The sill is holed, see the photograph. ".repeat(100), "short".into()] {
        fs::write(&path, &text).unwrap();
        let refused = Database::open(&address(&path)).await.unwrap_err();
        assert!(matches!(&refused, StoreError::Damaged(why) if why.contains("is not a database")), "{refused}");
        assert_eq!(fs::read_to_string(&path).unwrap(), text);
    }
}

#[tokio::test]
async fn an_empty_file_becomes_a_database() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("shop.db");
    fs::write(&path, "").unwrap();
    let database = Database::open(&address(&path)).await.unwrap();
    assert_eq!(database.heads().await.unwrap(), []);
}

/// Bytes in the middle of the file were overwritten by something else.
#[tokio::test]
async fn a_file_with_overwritten_pages_is_damaged() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("shop.db");
    let car = CarId::fresh();
    let database = Database::open(&address(&path)).await.unwrap();
    let text = "a long look ".repeat(20);
    database.append(car, &record(car, &vec![&text[..]; 500])).await.unwrap();
    database.close().await;
    let file = fs::OpenOptions::new().write(true).open(&path).unwrap();
    let pages = file.metadata().unwrap().len() / 4096;
    for page in pages / 3..pages {
        file.write_all_at(&[0xa5; 4096], page * 4096).unwrap();
    }
    let database = Database::open(&address(&path)).await.unwrap();
    let refused = database.events(car, 1, 2000).await.unwrap_err();
    assert!(matches!(&refused, StoreError::Damaged(why) if why.contains("malformed")), "{refused}");
}

/// The superuser may write what is write-protected, so when the tests run as that one the rest of a test runs
/// again as somebody else: true there, false where it has been done.
fn as_an_ordinary_user(test: &str) -> bool {
    const NOBODY: u32 = 65_534;
    let folder = tempfile::tempdir().unwrap();
    if fs::metadata(folder.path()).unwrap().uid() != 0 {
        return true;
    }
    let program = folder.path().join("test");
    fs::copy(std::env::current_exe().unwrap(), &program).unwrap();
    fs::set_permissions(folder.path(), fs::Permissions::from_mode(0o755)).unwrap();
    chown(folder.path(), Some(NOBODY), Some(NOBODY)).unwrap();
    let done = Command::new(&program)
        .args([test, "--exact", "--nocapture"])
        .env("TMPDIR", folder.path())
        .uid(NOBODY)
        .gid(NOBODY)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&done.stdout);
    assert!(done.status.success(), "{said}{}", String::from_utf8_lossy(&done.stderr));
    assert!(said.contains("1 passed"), "{said}");
    false
}

fn protect(path: &Path, mode: u32) {
    fs::set_permissions(path, fs::Permissions::from_mode(mode)).unwrap();
}

#[tokio::test]
async fn a_write_protected_file_can_be_looked_at() {
    if !as_an_ordinary_user("sqlite_file::a_write_protected_file_can_be_looked_at") {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("shop.db");
    let car = CarId::fresh();
    let events = record(car, &["one", "two", "three"]);
    let database = Database::open(&address(&path)).await.unwrap();
    database.append(car, &events[..2]).await.unwrap();
    database.close().await;
    let before = fs::read(&path).unwrap();
    protect(&path, 0o444);
    // In a protected folder; in one where SQLite can make its two files beside it; and protected with those.
    for folder_mode in [0o555, 0o755, 0o555] {
        protect(folder.path(), folder_mode);
        let database = Database::open(&address(&path)).await.unwrap();
        assert_eq!(all(&database, car).await, events[..2]);
        assert_eq!(database.heads().await.unwrap().len(), 1);
        for refused in [
            database.append(car, &events[2..]).await.unwrap_err(),
            database.put_person(&person("Lead", Role::Lead)).await.unwrap_err(),
            database.put_blob(Hash::of(b"x"), b"x").await.unwrap_err(),
            database.drop_session(Hash::NONE).await.unwrap_err(),
            // And once more: the first refusal left nothing half-open behind.
            database.append(car, &events[2..]).await.unwrap_err(),
        ] {
            assert!(matches!(&refused, StoreError::ReadOnly(why) if why.contains("write-protected")), "{refused}");
        }
        assert_eq!(all(&database, car).await, events[..2]);
        database.close().await;
        protect(folder.path(), 0o755);
    }
    assert_eq!(fs::read(&path).unwrap(), before);
    // Freeing the file alone is not enough, and the message says so.
    protect(&path, 0o644);
    let database = Database::open(&address(&path)).await.unwrap();
    let refused = database.append(car, &events[2..]).await.unwrap_err();
    assert!(matches!(&refused, StoreError::ReadOnly(why) if why.contains("shop.db-shm")), "{refused}");
    database.close().await;
    for end in ["shop.db-wal", "shop.db-shm"] {
        protect(&folder.path().join(end), 0o644);
    }
    let database = Database::open(&address(&path)).await.unwrap();
    assert_eq!(database.append(car, &events[2..]).await.unwrap(), Appended::Kept);
}

/// Its tables cannot be brought up to date, and half of them would not do.
#[tokio::test]
async fn a_write_protected_file_of_an_older_version_is_refused_in_words() {
    if !as_an_ordinary_user("sqlite_file::a_write_protected_file_of_an_older_version_is_refused_in_words") {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("shop.db");
    Place { url: address(&path) }.as_version(1).await;
    let before = fs::read(&path).unwrap();
    protect(&path, 0o444);
    for folder_mode in [0o555, 0o755] {
        protect(folder.path(), folder_mode);
        let refused = Database::open(&address(&path)).await.unwrap_err();
        assert!(matches!(&refused, StoreError::ReadOnly(why) if why.contains("write-protected")), "{refused}");
    }
    assert_eq!(fs::read(&path).unwrap(), before);
    for end in ["shop.db", "shop.db-wal", "shop.db-shm"] {
        let file = folder.path().join(end);
        if file.exists() {
            protect(&file, 0o644);
        }
    }
    Database::open(&address(&path)).await.unwrap();
}

/// Somebody else writes it at this moment: what is only in the log yet must be seen too.
#[tokio::test]
async fn a_write_protected_file_that_another_process_writes_shows_the_newest() {
    if !as_an_ordinary_user("sqlite_file::a_write_protected_file_that_another_process_writes_shows_the_newest") {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("shop.db");
    let car = CarId::fresh();
    let events = record(car, &["one", "two"]);
    let writer = Database::open(&address(&path)).await.unwrap();
    writer.append(car, &events).await.unwrap();
    for end in ["shop.db", "shop.db-wal", "shop.db-shm"] {
        protect(&folder.path().join(end), 0o444);
    }
    protect(folder.path(), 0o555);
    let reader = Database::open(&address(&path)).await.unwrap();
    assert_eq!(all(&reader, car).await, events);
    let refused = reader.put_person(&person("Lead", Role::Lead)).await.unwrap_err();
    assert!(matches!(refused, StoreError::ReadOnly(_)), "{refused}");
    protect(folder.path(), 0o755);
}

/// Copied to a read-only disk while it was being written: the log beside it cannot be read there, and the file
/// alone is an older record that would look whole.
#[tokio::test]
async fn a_write_protected_file_with_a_log_is_not_shown_without_it() {
    if !as_an_ordinary_user("sqlite_file::a_write_protected_file_with_a_log_is_not_shown_without_it") {
        return;
    }
    let (folder, copies) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let path = folder.path().join("shop.db");
    let car = CarId::fresh();
    let writer = Database::open(&address(&path)).await.unwrap();
    writer.append(car, &record(car, &["one", "two"])).await.unwrap();
    for end in ["shop.db", "shop.db-wal"] {
        fs::copy(folder.path().join(end), copies.path().join(end)).unwrap();
        protect(&copies.path().join(end), 0o444);
    }
    protect(copies.path(), 0o555);
    assert!(unreachable(&address(&copies.path().join("shop.db"))).await.contains("let the program read and write"));
    protect(copies.path(), 0o755);
    // Where the log can be read, the record is whole.
    for end in ["shop.db", "shop.db-wal"] {
        protect(&copies.path().join(end), 0o644);
    }
    let copy = Database::open(&address(&copies.path().join("shop.db"))).await.unwrap();
    assert_eq!(all(&copy, car).await.len(), 2);
}

#[tokio::test]
async fn a_file_that_may_not_be_read_or_made_is_refused_in_words() {
    if !as_an_ordinary_user("sqlite_file::a_file_that_may_not_be_read_or_made_is_refused_in_words") {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("shop.db");
    Database::open(&address(&path)).await.unwrap().close().await;
    protect(&path, 0o000);
    assert!(unreachable(&address(&path)).await.contains("let the program read and write"));
    protect(folder.path(), 0o555);
    assert!(unreachable(&address(&folder.path().join("new.db"))).await.contains("let the program read and write"));
    protect(folder.path(), 0o755);
}

/// A real process is killed while it writes, again and again. The record verifies every time, and holds every
/// entry that was acknowledged.
#[tokio::test]
async fn invariant_a_killed_writer_leaves_a_record_that_verifies() {
    const TEST: &str = "sqlite_file::invariant_a_killed_writer_leaves_a_record_that_verifies";
    const VICTIM: &str = "GUIDECOAT_TEST_KILLED_WRITER";
    if let Ok(order) = std::env::var(VICTIM) {
        let (car, url) = order.split_once(' ').unwrap();
        return write_until_killed(car.parse().unwrap(), url).await;
    }
    let folder = tempfile::tempdir().unwrap();
    let url = address(&folder.path().join("shop.db"));
    let car = CarId::fresh();
    let mut acknowledged = 0;
    for round in 0..25_u64 {
        let mut writer = Command::new(std::env::current_exe().unwrap())
            .args([TEST, "--exact", "--nocapture"])
            .env(VICTIM, format!("{car} {url}"))
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(writer.stdout.take().unwrap()).lines().map_while(Result::ok);
        let first = lines.find_map(|line| line.strip_prefix("kept ").map(str::to_owned)).expect("it begins to write");
        // Different moments of a write, the same in every run.
        tokio::time::sleep(Duration::from_micros(round * 1_337 % 20_000)).await;
        writer.kill().unwrap();
        writer.wait().unwrap();
        let last = lines.filter_map(|line| line.strip_prefix("kept ").map(str::to_owned)).last().unwrap_or(first);
        let kept: u64 = last.parse().unwrap();
        assert!(kept > acknowledged, "round {round} wrote nothing");
        acknowledged = kept;
        let database = Database::open(&url).await.unwrap();
        let verdict = verify(&all(&database, car).await, None);
        assert!(verdict.intact(), "round {round}: {verdict:?}");
        assert!(verdict.events >= acknowledged, "round {round}: {acknowledged} acknowledged, {verdict:?}");
        // Batches of three are whole.
        assert_eq!(verdict.events % 3, 0, "round {round}: {verdict:?}");
        database.close().await;
    }
}

async fn write_until_killed(car: CarId, url: &str) {
    let database = Database::open(url).await.unwrap();
    for _ in 0..100_000 {
        let (count, prev) = database.head(car).await.unwrap().map_or((0, Hash::NONE), |head| (head.count, head.hash));
        let one = entry(car, count, prev, "one");
        let two = entry(car, count + 1, one.hash, "two");
        let three = entry(car, count + 2, two.hash, "three");
        assert_eq!(database.append(car, &[one, two, three]).await.unwrap(), Appended::Kept);
        println!("kept {}", count + 3);
    }
}
