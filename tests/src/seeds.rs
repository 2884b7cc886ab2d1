//! How many seeds are tried, and which.

/// The variable that asks for all seeds, not for a sample: `cargo xtask seeds` sets it.
pub const ALL: &str = "EVENHAND_ALL_SEEDS";

/// The variable with the number from which all seeds follow: another one gives other performances,
/// and what is asked of the judge must hold for them as well. Kept tables are those of base 0.
pub const BASE: &str = "EVENHAND_SEED_BASE";

/// Whether all seeds are asked for.
pub fn all() -> bool {
    std::env::var_os(ALL).is_some()
}

/// The base that is asked for.
///
/// # Panics
/// If it is no number.
pub fn base() -> u64 {
    let Ok(base) = std::env::var(BASE) else { return 0 };
    base.parse().unwrap_or_else(|_| panic!("{BASE}={base}: that is no whole number"))
}
