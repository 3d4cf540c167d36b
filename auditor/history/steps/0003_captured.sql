-- Of which day the captures of a run were: the oldest of them. NULL where nothing told it, and in runs kept before this.
ALTER TABLE run ADD COLUMN captured INTEGER;
