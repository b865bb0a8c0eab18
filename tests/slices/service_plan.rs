//! Service plans: which sets are due, one period for each, what holds once it is published.
