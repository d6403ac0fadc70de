"""Rain as it was read: gauges, events, months, first-flush pipes, temperatures."""
