//! A fetch of one page over loopback: one connection, one answer.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::Duration;

use anyhow::{Context, Result, ensure};

const TIMEOUT: Duration = Duration::from_secs(10);
const LARGEST_ANSWER: u64 = 64 * 1024 * 1024;
const MOST_REDIRECTS: usize = 3;

/// What came back; the body as text, whatever it is.
pub(super) struct Answer {
    pub(super) status: u16,
    head: String,
    pub(super) body: String,
}

impl Answer {
    /// The value of a header, its name in lower case.
    pub(super) fn header(&self, name: &str) -> Option<&str> {
        self.head.lines().find_map(|line| {
            let (key, value) = line.split_once(':')?;
            (key.to_lowercase() == name).then_some(value.trim())
        })
    }

    fn parse(bytes: &[u8]) -> Result<Self> {
        let text = String::from_utf8_lossy(bytes);
        let (head, body) = text.split_once("\r\n\r\n").context("the answer has no head")?;
        let status =
            head.split(' ').nth(1).and_then(|status| status.parse().ok()).context("the answer has no status")?;
        Ok(Self { status, head: head.to_owned(), body: body.to_owned() })
    }
}

/// Fetches `path` from `authority` (host and port), as it stands.
pub(super) fn get(authority: &str, path: &str) -> Result<Answer> {
    let mut stream = TcpStream::connect(authority)?;
    stream.set_read_timeout(Some(TIMEOUT))?;
    stream.set_write_timeout(Some(TIMEOUT))?;
    write!(stream, "GET {path} HTTP/1.1\r\nHost: {authority}\r\nAccept: text/html\r\nConnection: close\r\n\r\n")?;
    let mut bytes = Vec::new();
    stream.take(LARGEST_ANSWER).read_to_end(&mut bytes)?;
    Answer::parse(&bytes)
}

/// The bytes that `path` brings over the wire, head and all, as a browser that unpacks gzip asks for it.
pub(super) fn weight(authority: &str, path: &str) -> Result<usize> {
    let mut stream = TcpStream::connect(authority)?;
    stream.set_read_timeout(Some(TIMEOUT))?;
    stream.set_write_timeout(Some(TIMEOUT))?;
    write!(stream, "GET {path} HTTP/1.1\r\nHost: {authority}\r\nAccept-Encoding: gzip\r\nConnection: close\r\n\r\n")?;
    let mut bytes = Vec::new();
    stream.take(LARGEST_ANSWER).read_to_end(&mut bytes)?;
    let status = Answer::parse(&bytes)?.status;
    ensure!(status == 200, "{path} answered {status}");
    Ok(bytes.len())
}

/// Fetches `path` and follows where it sends us on; only a 200 counts.
pub(super) fn page(authority: &str, path: &str) -> Result<Answer> {
    let mut path = path.to_owned();
    for _ in 0..=MOST_REDIRECTS {
        let answer = get(authority, &path)?;
        match answer.header("location") {
            Some(next) if (300..400).contains(&answer.status) => path = next.to_owned(),
            _ => {
                ensure!(answer.status == 200, "{path} answered {}", answer.status);
                return Ok(answer);
            }
        }
    }
    anyhow::bail!("{path} sends us round in circles")
}

#[cfg(test)]
mod tests {
    use super::Answer;

    #[test]
    fn answers_are_taken_apart() {
        let answer = Answer::parse(b"HTTP/1.1 303 See Other\r\nLocation: /cars\r\n\r\nbody").unwrap();
        assert_eq!((answer.status, answer.body.as_str()), (303, "body"));
        assert_eq!(answer.header("location"), Some("/cars"));
        assert!(Answer::parse(b"").is_err() && Answer::parse(b"HTTP/1.1 abc\r\n\r\n").is_err());
    }
}
