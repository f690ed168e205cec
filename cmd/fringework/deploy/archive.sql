-- Archives every change, for restoring to a point in time. compose.yaml has it run when the
-- database is made; OPERATING.md tells what to do with the archive.
LOAD 'basic_archive';
ALTER SYSTEM SET archive_mode = on;
ALTER SYSTEM SET archive_library = 'basic_archive';
ALTER SYSTEM SET basic_archive.archive_directory = '/archive';
ALTER SYSTEM SET archive_timeout = '60s';
