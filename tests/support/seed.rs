//! Random numbers that come again: every harness prints its seed and takes it back.

/// A small generator (SplitMix64: G. L. Steele, D. Lea, C. H. Flood, "Fast splittable
/// pseudorandom number generators", OOPSLA 2014, doi:10.1145/2660193.2660195).
#[derive(Debug, Clone)]
pub struct Seed(u64);

impl Seed {
    /// The seed of `LOCKRING_SEED`, else a fixed one.
    pub fn from_environment() -> Self {
        let given = std::env::var("LOCKRING_SEED").ok();
        let seed = given.map_or(20_260_302, |text| {
            text.parse().expect("LOCKRING_SEED must be a whole number")
        });
        eprintln!("LOCKRING_SEED={seed}");
        Self(seed)
    }

    /// The next number.
    pub fn number(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// A number below a bound.
    pub fn below(&mut self, bound: u64) -> u64 {
        self.number() % bound
    }
}

/// A whole number from the environment, such as rounds or seconds.
pub fn whole(name: &str, otherwise: u64) -> u64 {
    std::env::var(name).ok().map_or(otherwise, |text| {
        text.parse()
            .unwrap_or_else(|_| panic!("{name} must be a whole number, not `{text}`"))
    })
}

/// The first numbers of seed 1234567, as printed beside other implementations of the same
/// generator (Rosetta Code, "Pseudo-random numbers/Splitmix64").
#[test]
fn the_generator_is_the_published_one() {
    let mut seed = Seed(1_234_567);
    let first: Vec<u64> = (0..3).map(|_| seed.number()).collect();
    assert_eq!(
        first,
        [
            6_457_827_717_110_365_317,
            3_203_168_211_198_807_973,
            9_817_491_932_198_370_423
        ]
    );
}
