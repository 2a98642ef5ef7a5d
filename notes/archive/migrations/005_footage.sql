-- What tells the footage from other files, so that two reviews of one footage are known as such. NULL: none, or not known.
ALTER TABLE recording ADD COLUMN footage_print TEXT;
