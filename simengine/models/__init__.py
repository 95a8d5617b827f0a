"""The physical parts, one file each: plain functions on SI floats and arrays that know no scenario."""
