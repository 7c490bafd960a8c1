//! What every handler works with.

use std::sync::Arc;

use jiff::tz::TimeZone;
use job::car::Car;
use job::shop::{Forecast, Shop, ShopError};
use tokio::runtime::Handle;
use tokio::sync::Semaphore;
use tokio::task::spawn_blocking;

use crate::attempts::Attempts;
use crate::colour::work::Works;
use crate::fault::Fault;

/// The running program as the handlers see it.
#[derive(Clone)]
pub struct App {
    pub(crate) shop: Arc<Shop>,
    pub(crate) zone: TimeZone,
    pub(crate) loopback: bool,
    pub(crate) hosts: Arc<[String]>,
    pub(crate) public_url: Option<Arc<str>>,
    /// Pictures and dossiers take memory and both cores: only so many are worked on at once.
    pub(crate) heavy: Arc<Semaphore>,
    /// So many forecasts are worked out at once; apart, so that they do not wait for a picture.
    reckoning: Arc<Semaphore>,
    pub(crate) attempts: Arc<Attempts>,
    /// Long work on colours, in the background.
    pub(crate) works: Arc<Works>,
    /// Tokens of owner's links that nobody made, kept apart: they must not shut anybody of the shop out.
    pub(crate) wrong_links: Arc<Attempts>,
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
    /// The address under which owners reach this program from outside, such as `https://shop.example`, without
    /// a slash at its end; `None` where they cannot.
    pub public_url: Option<String>,
}

impl App {
    /// The program over a shop.
    pub fn new(setting: Setting) -> Self {
        let Setting { shop, zone, loopback, hosts, public_url } = setting;
        Self {
            shop,
            zone,
            loopback,
            hosts: hosts.into(),
            public_url: public_url.map(Into::into),
            heavy: Arc::new(Semaphore::new(2)),
            reckoning: Arc::new(Semaphore::new(2)),
            attempts: Arc::default(),
            works: Arc::default(),
            wrong_links: Arc::default(),
        }
    }

    /// What is thought of a car's shell.
    pub(crate) async fn forecast(&self, car: &Arc<Car>) -> Result<Arc<Forecast>, Fault> {
        let car = car.clone();
        self.aside(move |shop| async move { shop.forecast(&car).await }).await
    }

    /// Asks the shop for what may take a processor for long, on a thread where it holds up no other page.
    ///
    /// `job` has no runtime, so its use cases reckon where they are awaited; here that is a thread made for it.
    pub(crate) async fn aside<T, F>(&self, work: impl FnOnce(Arc<Shop>) -> F + Send + 'static) -> Result<T, Fault>
    where
        T: Send + 'static,
        F: Future<Output = Result<T, ShopError>>,
    {
        let broken = |e: String| Fault::Internal(e);
        // It goes along: whoever asked may leave, and the work goes on all the same.
        let permit = self.reckoning.clone().acquire_owned().await.map_err(|e| broken(e.to_string()))?;
        let (shop, runtime) = (self.shop.clone(), Handle::current());
        let work = move || {
            let _permit = permit;
            runtime.block_on(work(shop))
        };
        Ok(spawn_blocking(work).await.map_err(|e| broken(e.to_string()))??)
    }
}
