-- When the pitch was shown to the player; null of tries before it was kept. Every try of a drill of notes has one.
ALTER TABLE try ADD COLUMN feedback TEXT CHECK (feedback IN ('always', 'fading', 'after'));
