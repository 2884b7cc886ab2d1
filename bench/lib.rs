//! Empty: the benchmark is in `benches`.
