"""What several calculators of the family use: the configuration, the steps of the work, sources, cautions, time."""
