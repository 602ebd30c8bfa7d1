"""Wrong rules: written ones, those made from the chart, and what somebody answers who holds one."""
