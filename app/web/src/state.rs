//! What every handler works with.

use std::sync::Arc;

use jiff::tz::TimeZone;
use job::shop::Shop;
use tokio::sync::Semaphore;

use crate::attempts::Attempts;

/// The running program as the handlers see it.
#[derive(Clone)]
pub struct App {
    pub(crate) shop: Arc<Shop>,
    pub(crate) zone: TimeZone,
    pub(crate) loopback: bool,
    pub(crate) hosts: Arc<[String]>,
    /// Pictures and dossiers take memory and both cores: only so many are worked on at once.
    pub(crate) heavy: Arc<Semaphore>,
    pub(crate) attempts: Arc<Attempts>,
}

/// How the program is run.
pub struct Setting {
    /// The shop.
    pub shop: Arc<Shop>,
    /// The shop's time zone; times are stored in UTC and shown in this one.
    pub zone: TimeZone,
    /// True when only this computer can reach the address it listens on.
    pub loopback: bool,
    /// Names by which the program may be addressed, beside the loopback ones; empty means any.
    pub hosts: Vec<String>,
}

impl App {
    /// The program over a shop.
    pub fn new(setting: Setting) -> Self {
        let Setting { shop, zone, loopback, hosts } = setting;
        Self { shop, zone, loopback, hosts: hosts.into(), heavy: Arc::new(Semaphore::new(2)), attempts: Arc::default() }
    }
}
