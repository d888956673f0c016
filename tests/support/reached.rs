//! A shop that other benches reach over the network.

use std::net::{TcpListener, TcpStream};
use std::path::PathBuf;
use std::time::{Duration, Instant};

use super::{PATIENCE, Shop};

/// A shop with demo jobs, an owner K and a mechanic M, that other benches reach.
pub struct Reached {
    pub shop: Shop,
}

impl Reached {
    pub fn open() -> Self {
        let shop = Shop::with_demo_jobs();
        shop.line("people add K --role owner").ok();
        shop.line("people add M").ok();
        let free = TcpListener::bind("127.0.0.1:0").unwrap();
        let address = free.local_addr().unwrap();
        drop(free);
        shop.line(&format!("settings set bench-address {address}")).ok();
        let begun = Instant::now();
        while TcpStream::connect(address).is_err() {
            assert!(begun.elapsed() < PATIENCE, "nobody listens at {address}");
            std::thread::sleep(Duration::from_millis(20));
        }
        Self { shop }
    }

    /// Pairs a bench for a person and gives the file.
    pub fn pair(&self, bench: &str, person: &str) -> PathBuf {
        let file = self
            .shop
            .folder()
            .parent()
            .unwrap()
            .join(format!("{bench}-{person}.pair"));
        self.shop
            .run(["pair", bench, person, "--out", file.to_str().unwrap()])
            .ok();
        file
    }
}
