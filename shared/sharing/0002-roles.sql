-- What a knitter may: read everything, and add records, which are stamped with her name. Who only
-- looks at the board may read. A role belongs to the whole server: another store may have made it.

DO $$
BEGIN
    IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = 'walesong_reader') THEN
        CREATE ROLE walesong_reader NOLOGIN;
    END IF;
    IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = 'walesong_knitter') THEN
        CREATE ROLE walesong_knitter NOLOGIN;
    END IF;
END $$;

REVOKE ALL ON SCHEMA walesong FROM PUBLIC;
REVOKE ALL ON ALL TABLES IN SCHEMA walesong FROM PUBLIC;
REVOKE ALL ON ALL FUNCTIONS IN SCHEMA walesong FROM PUBLIC;

GRANT USAGE ON SCHEMA walesong TO walesong_reader, walesong_knitter;
GRANT SELECT ON walesong.store, walesong.writer, walesong.record, walesong.migration
    TO walesong_reader, walesong_knitter;
-- Neither her name nor the number of arrival is hers to say.
GRANT INSERT (id, piece, lamport, writer, content) ON walesong.record TO walesong_knitter;

-- The owner of the tables is held to it, too.
ALTER TABLE walesong.record ENABLE ROW LEVEL SECURITY;
ALTER TABLE walesong.record FORCE ROW LEVEL SECURITY;
CREATE POLICY everybody_reads ON walesong.record FOR SELECT USING (true);
CREATE POLICY her_own ON walesong.record FOR INSERT WITH CHECK (knitter = session_user);
