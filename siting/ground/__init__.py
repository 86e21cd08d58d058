"""What the ground gives: the surface around an antenna, sampled once on a polar grid."""
