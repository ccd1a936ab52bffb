"""What several calculators of the family use: points, sources, cautions, tables, statics, wind."""
