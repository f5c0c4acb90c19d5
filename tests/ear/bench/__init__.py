"""A measurement bench for pitch trackers on reed tones with exact truth."""
