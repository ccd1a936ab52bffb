"""What several calculators of the family use."""
