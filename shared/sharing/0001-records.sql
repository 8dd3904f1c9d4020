-- The records of everybody who shares, each once, in the order in which they arrived.

CREATE SCHEMA walesong;

-- Names this store, so that a device knows it again.
CREATE TABLE walesong.store (
    name uuid NOT NULL DEFAULT gen_random_uuid(),
    only_row boolean PRIMARY KEY DEFAULT true CHECK (only_row)
);
INSERT INTO walesong.store DEFAULT VALUES;

-- Whose a writer is (a random name per start of the program): of who brought its first record.
CREATE TABLE walesong.writer (
    name text PRIMARY KEY,
    knitter text NOT NULL
);

CREATE TABLE walesong.record (
    arrival bigint GENERATED ALWAYS AS IDENTITY,
    id bytea NOT NULL,
    piece text NOT NULL,
    lamport bigint NOT NULL,
    writer text NOT NULL,
    content bytea NOT NULL,
    knitter text NOT NULL DEFAULT session_user,
    -- The last six bytes of the id as a number: their sum names a set of records.
    mark bigint NOT NULL GENERATED ALWAYS AS (
        (get_byte(id, 26)::bigint << 40) | (get_byte(id, 27)::bigint << 32)
        | (get_byte(id, 28)::bigint << 24) | (get_byte(id, 29)::bigint << 16)
        | (get_byte(id, 30)::bigint << 8) | get_byte(id, 31)::bigint
    ) STORED,
    PRIMARY KEY (id),
    UNIQUE (arrival),
    -- The content is the very bytes whose SHA-256 is the id, and the columns say what it says.
    CONSTRAINT named_by_its_content CHECK (id = sha256(content)),
    -- Names stand here as they stand in JSON, without its quotation marks.
    CONSTRAINT of_its_piece CHECK (
        position(convert_to('"piece":"' || piece || '",', 'UTF8') IN content) > 0
    ),
    CONSTRAINT of_its_number CHECK (
        position(convert_to('"lamport":' || lamport || ',', 'UTF8') IN content) > 0
    ),
    CONSTRAINT of_its_writer CHECK (
        substring(content FROM greatest(1, length(content) - octet_length(writer) - 11))
        = convert_to('"writer":"' || writer || '"}', 'UTF8')
    )
);

CREATE INDEX record_of_piece ON walesong.record (piece) INCLUDE (mark, id);

-- Those who bring records take turns until they are committed: so the numbers of arrival are
-- committed in their order, and a reader who asks for what came after a number misses nothing.
CREATE FUNCTION walesong.take_turns() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM pg_advisory_xact_lock(1463897157);
    RETURN NULL;
END $$;
CREATE TRIGGER take_turns BEFORE INSERT ON walesong.record
    FOR EACH STATEMENT EXECUTE FUNCTION walesong.take_turns();

CREATE FUNCTION walesong.own_and_told() RETURNS trigger LANGUAGE plpgsql
    SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
DECLARE
    foreign_writer text;
BEGIN
    IF NOT EXISTS (SELECT FROM arrived) THEN
        RETURN NULL;
    END IF;
    INSERT INTO walesong.writer (name, knitter)
        SELECT DISTINCT writer, session_user FROM arrived
        ON CONFLICT (name) DO NOTHING;
    SELECT writer.name INTO foreign_writer
        FROM walesong.writer JOIN arrived ON arrived.writer = writer.name
        WHERE writer.knitter <> session_user LIMIT 1;
    IF foreign_writer IS NOT NULL THEN
        RAISE insufficient_privilege USING
            MESSAGE = 'these records are another knitter''s', DETAIL = foreign_writer;
    END IF;
    PERFORM pg_notify('walesong', session_user);
    RETURN NULL;
END $$;
CREATE TRIGGER own_and_told AFTER INSERT ON walesong.record
    REFERENCING NEW TABLE AS arrived
    FOR EACH STATEMENT EXECUTE FUNCTION walesong.own_and_told();

-- Not even the owner changes or deletes a record.
CREATE FUNCTION walesong.never_changed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE insufficient_privilege USING MESSAGE = 'a record is never changed or deleted';
END $$;
CREATE TRIGGER never_changed BEFORE UPDATE OR DELETE OR TRUNCATE ON walesong.record
    FOR EACH STATEMENT EXECUTE FUNCTION walesong.never_changed();
