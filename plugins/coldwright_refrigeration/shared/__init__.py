"""What several calculators of the family use: refrigerants, saturation, moist air, the liquid, sources, cautions."""
