"""First tables"""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "band_profile",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("condition", sa.String(), nullable=False),
        sa.Column("source", sa.String(), nullable=False),
        sa.Column("read_on", sa.Date(), nullable=True),
        sa.Column("is_own", sa.Boolean(), nullable=False),
        sa.Column("retired_at", sa.DateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_band_profile")),
        sa.UniqueConstraint("name", name=op.f("uq_band_profile_name")),
    )
    op.create_table(
        "channel_plan",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("letter", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("source", sa.String(), nullable=False),
        sa.Column("is_published", sa.Boolean(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_channel_plan")),
        sa.UniqueConstraint("letter", name=op.f("uq_channel_plan_letter")),
    )
    op.create_table(
        "club",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("field_address", sa.String(), nullable=False),
        sa.Column("safety_words", sa.String(), nullable=False),
        sa.Column("password_hash", sa.String(), nullable=False),
        sa.Column("useful_clearance_mhz", sa.Integer(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.CheckConstraint("id = 1", name=op.f("ck_club_one_row")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_club")),
    )
    op.create_table(
        "installation",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("server_secret", sa.String(), nullable=False),
        sa.Column("first_visit_hash", sa.String(), nullable=True),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.CheckConstraint("id = 1", name=op.f("ck_installation_one_row")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_installation")),
    )
    op.create_table(
        "operation",
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("digest", sa.String(), nullable=False),
        sa.Column("answer", sa.JSON(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_operation")),
    )
    op.create_table(
        "token",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("label", sa.String(), nullable=False),
        sa.Column("nominal_mhz", sa.Integer(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("state_since", sa.DateTime(timezone=True), nullable=False),
        sa.CheckConstraint("state IN ('usable', 'missing', 'withdrawn')", name=op.f("ck_token_state_known")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_token")),
        sa.UniqueConstraint("code", name=op.f("uq_token_code")),
    )
    op.create_table(
        "transmitter_kind",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("is_digital", sa.Boolean(), nullable=False),
        sa.Column("width_mhz", sa.Float(), nullable=False),
        sa.Column("width_source", sa.String(), nullable=False),
        sa.Column("carson_modulating_mhz", sa.Float(), nullable=True),
        sa.Column("carson_deviation_mhz", sa.Float(), nullable=True),
        sa.Column("tuning", sa.String(), nullable=False),
        sa.Column("goggles", sa.String(), nullable=False),
        sa.Column("power_steps_mw", sa.String(), nullable=False),
        sa.Column("antenna_gain_dbi", sa.Float(), nullable=True),
        sa.Column("goggles_transmit", sa.Boolean(), nullable=False),
        sa.Column("moves_by_itself", sa.Boolean(), nullable=False),
        sa.Column("sets_silently", sa.Boolean(), nullable=False),
        sa.Column("setting_hint", sa.String(), nullable=False),
        sa.Column("retired_at", sa.DateTime(timezone=True), nullable=True),
        sa.CheckConstraint("width_mhz > 0", name=op.f("ck_transmitter_kind_width_above_zero")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_transmitter_kind")),
        sa.UniqueConstraint("name", name=op.f("uq_transmitter_kind_name")),
    )
    op.create_table(
        "band_segment",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("profile_id", sa.Integer(), nullable=False),
        sa.Column("low_mhz", sa.Integer(), nullable=False),
        sa.Column("high_mhz", sa.Integer(), nullable=False),
        sa.Column("power_mw", sa.Float(), nullable=True),
        sa.CheckConstraint("low_mhz < high_mhz", name=op.f("ck_band_segment_low_below_high")),
        sa.ForeignKeyConstraint(
            ["profile_id"], ["band_profile.id"], name=op.f("fk_band_segment_profile_id_band_profile")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_band_segment")),
    )
    with op.batch_alter_table("band_segment", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_band_segment_profile_id"), ["profile_id"], unique=False)

    op.create_table(
        "pilot",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("board_name", sa.String(), nullable=False),
        sa.Column("band_profile_id", sa.Integer(), nullable=True),
        sa.Column("link_hash", sa.String(), nullable=True),
        sa.Column("claimed_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("retired_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(
            ["band_profile_id"], ["band_profile.id"], name=op.f("fk_pilot_band_profile_id_band_profile")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_pilot")),
    )
    with op.batch_alter_table("pilot", schema=None) as batch_op:
        batch_op.create_index("uq_pilot_link_hash", ["link_hash"], unique=True)

    op.create_table(
        "plan_channel",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("plan_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("mhz", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["plan_id"], ["channel_plan.id"], name=op.f("fk_plan_channel_plan_id_channel_plan")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_plan_channel")),
        sa.UniqueConstraint("plan_id", "number", name=op.f("uq_plan_channel_plan_id_number")),
    )
    with op.batch_alter_table("plan_channel", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_plan_channel_plan_id"), ["plan_id"], unique=False)

    op.create_table(
        "site",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("time_zone", sa.String(), nullable=False),
        sa.Column("band_profile_id", sa.Integer(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("retired_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(
            ["band_profile_id"], ["band_profile.id"], name=op.f("fk_site_band_profile_id_band_profile")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_site")),
        sa.UniqueConstraint("name", name=op.f("uq_site_name")),
    )
    op.create_table(
        "meet",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("on_date", sa.Date(), nullable=False),
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("fly_at_once", sa.Integer(), nullable=False),
        sa.Column("pull_mhz", sa.Integer(), nullable=False),
        sa.Column("head_limit_min", sa.Integer(), nullable=False),
        sa.Column("power_ceiling_mw", sa.Float(), nullable=True),
        sa.Column("spacing_floor_mhz", sa.Float(), nullable=True),
        sa.Column("clearance_floor_mhz", sa.Float(), nullable=True),
        sa.Column("lower_floors_reason", sa.String(), nullable=False),
        sa.Column("signals", sa.String(), nullable=False),
        sa.Column("is_self_service", sa.Boolean(), nullable=False),
        sa.Column("pin_hash", sa.String(), nullable=True),
        sa.Column("desk_link_hash", sa.String(), nullable=True),
        sa.Column("opened_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("closed_at", sa.DateTime(timezone=True), nullable=True),
        sa.CheckConstraint("signals IN ('both', 'two')", name=op.f("ck_meet_signals_known")),
        sa.CheckConstraint("state IN ('planned', 'open', 'closed')", name=op.f("ck_meet_state_known")),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_meet_site_id_site")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_meet")),
    )
    with op.batch_alter_table("meet", schema=None) as batch_op:
        batch_op.create_index(
            "uq_meet_one_open",
            ["state"],
            unique=True,
            sqlite_where=sa.text("state = 'open'"),
            postgresql_where=sa.text("state = 'open'"),
        )

    op.create_table(
        "neighbour",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("label", sa.String(), nullable=False),
        sa.Column("centre_mhz", sa.Integer(), nullable=False),
        sa.Column("width_mhz", sa.Float(), nullable=False),
        sa.Column("wifi_channel", sa.Integer(), nullable=True),
        sa.CheckConstraint("width_mhz > 0", name=op.f("ck_neighbour_width_above_zero")),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_neighbour_site_id_site")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_neighbour")),
    )
    with op.batch_alter_table("neighbour", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_neighbour_site_id"), ["site_id"], unique=False)

    op.create_table(
        "pilot_transmitter",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("pilot_id", sa.Integer(), nullable=False),
        sa.Column("kind_id", sa.Integer(), nullable=False),
        sa.Column("nickname", sa.String(), nullable=False),
        sa.Column("wake_mhz", sa.Integer(), nullable=True),
        sa.Column("retired_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(
            ["kind_id"], ["transmitter_kind.id"], name=op.f("fk_pilot_transmitter_kind_id_transmitter_kind")
        ),
        sa.ForeignKeyConstraint(["pilot_id"], ["pilot.id"], name=op.f("fk_pilot_transmitter_pilot_id_pilot")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_pilot_transmitter")),
    )
    with op.batch_alter_table("pilot_transmitter", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_pilot_transmitter_pilot_id"), ["pilot_id"], unique=False)

    op.create_table(
        "alarm",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("meet_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("started_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("voided_at", sa.DateTime(timezone=True), nullable=True),
        sa.CheckConstraint("kind IN ('stray', 'down')", name=op.f("ck_alarm_kind_known")),
        sa.ForeignKeyConstraint(["meet_id"], ["meet.id"], name=op.f("fk_alarm_meet_id_meet")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_alarm")),
    )
    with op.batch_alter_table("alarm", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_alarm_meet_id"), ["meet_id"], unique=False)
        batch_op.create_index(
            "uq_alarm_running",
            ["meet_id", "kind"],
            unique=True,
            sqlite_where=sa.text("ended_at IS NULL AND voided_at IS NULL"),
            postgresql_where=sa.text("ended_at IS NULL AND voided_at IS NULL"),
        )

    op.create_table(
        "attendance",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("meet_id", sa.Integer(), nullable=False),
        sa.Column("pilot_id", sa.Integer(), nullable=False),
        sa.Column("transmitter_id", sa.Integer(), nullable=True),
        sa.Column("is_expected", sa.Boolean(), nullable=False),
        sa.Column("checked_in_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("left_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["meet_id"], ["meet.id"], name=op.f("fk_attendance_meet_id_meet")),
        sa.ForeignKeyConstraint(["pilot_id"], ["pilot.id"], name=op.f("fk_attendance_pilot_id_pilot")),
        sa.ForeignKeyConstraint(
            ["transmitter_id"], ["pilot_transmitter.id"], name=op.f("fk_attendance_transmitter_id_pilot_transmitter")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_attendance")),
        sa.UniqueConstraint("meet_id", "pilot_id", name=op.f("uq_attendance_meet_id_pilot_id")),
    )
    with op.batch_alter_table("attendance", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_attendance_meet_id"), ["meet_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_attendance_pilot_id"), ["pilot_id"], unique=False)

    op.create_table(
        "desk_session",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("secret_hash", sa.String(), nullable=False),
        sa.Column("role", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("meet_id", sa.Integer(), nullable=True),
        sa.Column("pilot_id", sa.Integer(), nullable=True),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("expires_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.CheckConstraint("role IN ('organiser', 'marshal', 'pilot')", name=op.f("ck_desk_session_role_known")),
        sa.ForeignKeyConstraint(["meet_id"], ["meet.id"], name=op.f("fk_desk_session_meet_id_meet")),
        sa.ForeignKeyConstraint(["pilot_id"], ["pilot.id"], name=op.f("fk_desk_session_pilot_id_pilot")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_desk_session")),
        sa.UniqueConstraint("secret_hash", name=op.f("uq_desk_session_secret_hash")),
    )
    op.create_table(
        "journal_line",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("meet_id", sa.Integer(), nullable=True),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("facts", sa.JSON(), nullable=False),
        sa.Column("changes", sa.JSON(), nullable=False),
        sa.Column("is_undoable", sa.Boolean(), nullable=False),
        sa.Column("undoes_id", sa.Integer(), nullable=True),
        sa.Column("actor_role", sa.String(), nullable=False),
        sa.Column("actor_name", sa.String(), nullable=False),
        sa.Column("actor_session_id", sa.Integer(), nullable=True),
        sa.Column("actor_pilot_id", sa.Integer(), nullable=True),
        sa.Column("happened_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("entered_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["meet_id"], ["meet.id"], name=op.f("fk_journal_line_meet_id_meet")),
        sa.ForeignKeyConstraint(
            ["undoes_id"], ["journal_line.id"], name=op.f("fk_journal_line_undoes_id_journal_line")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_journal_line")),
        sa.UniqueConstraint("undoes_id", name=op.f("uq_journal_line_undoes_id")),
    )
    with op.batch_alter_table("journal_line", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_journal_line_meet_id"), ["meet_id"], unique=False)

    op.create_table(
        "line_entry",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("meet_id", sa.Integer(), nullable=False),
        sa.Column("pilot_id", sa.Integer(), nullable=False),
        sa.Column("joined_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("head_since", sa.DateTime(timezone=True), nullable=True),
        sa.Column("is_skipped", sa.Boolean(), nullable=False),
        sa.Column("left_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("was_served", sa.Boolean(), nullable=False),
        sa.Column("voided_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["meet_id"], ["meet.id"], name=op.f("fk_line_entry_meet_id_meet")),
        sa.ForeignKeyConstraint(["pilot_id"], ["pilot.id"], name=op.f("fk_line_entry_pilot_id_pilot")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_line_entry")),
    )
    with op.batch_alter_table("line_entry", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_line_entry_meet_id"), ["meet_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_line_entry_pilot_id"), ["pilot_id"], unique=False)
        batch_op.create_index(
            "uq_line_entry_standing",
            ["pilot_id"],
            unique=True,
            sqlite_where=sa.text("left_at IS NULL AND voided_at IS NULL"),
            postgresql_where=sa.text("left_at IS NULL AND voided_at IS NULL"),
        )

    op.create_table(
        "loan",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("meet_id", sa.Integer(), nullable=False),
        sa.Column("token_id", sa.Integer(), nullable=True),
        sa.Column("pilot_id", sa.Integer(), nullable=True),
        sa.Column("holder_name", sa.String(), nullable=False),
        sa.Column("out_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("in_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("entered_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_missing", sa.Boolean(), nullable=False),
        sa.Column("override_reason", sa.String(), nullable=False),
        sa.Column("seen_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("voided_at", sa.DateTime(timezone=True), nullable=True),
        sa.CheckConstraint("pilot_id IS NOT NULL OR holder_name <> ''", name=op.f("ck_loan_has_holder")),
        sa.CheckConstraint("in_at IS NULL OR in_at >= out_at", name=op.f("ck_loan_in_after_out")),
        sa.CheckConstraint("token_id IS NOT NULL OR pilot_id IS NULL", name=op.f("ck_loan_pilot_has_token")),
        sa.ForeignKeyConstraint(["meet_id"], ["meet.id"], name=op.f("fk_loan_meet_id_meet")),
        sa.ForeignKeyConstraint(["pilot_id"], ["pilot.id"], name=op.f("fk_loan_pilot_id_pilot")),
        sa.ForeignKeyConstraint(["token_id"], ["token.id"], name=op.f("fk_loan_token_id_token")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_loan")),
    )
    with op.batch_alter_table("loan", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_loan_meet_id"), ["meet_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_loan_pilot_id"), ["pilot_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_loan_token_id"), ["token_id"], unique=False)
        batch_op.create_index(
            "uq_loan_open_pilot",
            ["pilot_id"],
            unique=True,
            sqlite_where=sa.text("in_at IS NULL AND voided_at IS NULL"),
            postgresql_where=sa.text("in_at IS NULL AND voided_at IS NULL"),
        )
        batch_op.create_index(
            "uq_loan_open_token",
            ["token_id"],
            unique=True,
            sqlite_where=sa.text("in_at IS NULL AND voided_at IS NULL"),
            postgresql_where=sa.text("in_at IS NULL AND voided_at IS NULL"),
        )

    op.create_table(
        "meet_token",
        sa.Column("meet_id", sa.Integer(), nullable=False),
        sa.Column("token_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["meet_id"], ["meet.id"], name=op.f("fk_meet_token_meet_id_meet")),
        sa.ForeignKeyConstraint(["token_id"], ["token.id"], name=op.f("fk_meet_token_token_id_token")),
        sa.PrimaryKeyConstraint("meet_id", "token_id", name=op.f("pk_meet_token")),
    )
    op.create_table(
        "pause",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("meet_id", sa.Integer(), nullable=False),
        sa.Column("reason", sa.String(), nullable=False),
        sa.Column("started_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("voided_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["meet_id"], ["meet.id"], name=op.f("fk_pause_meet_id_meet")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_pause")),
    )
    with op.batch_alter_table("pause", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_pause_meet_id"), ["meet_id"], unique=False)
        batch_op.create_index(
            "uq_pause_running",
            ["meet_id"],
            unique=True,
            sqlite_where=sa.text("ended_at IS NULL AND voided_at IS NULL"),
            postgresql_where=sa.text("ended_at IS NULL AND voided_at IS NULL"),
        )

    op.create_table(
        "sharing",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("meet_id", sa.Integer(), nullable=False),
        sa.Column("token_id", sa.Integer(), nullable=False),
        sa.Column("pilot_id", sa.Integer(), nullable=False),
        sa.Column("partner_id", sa.Integer(), nullable=False),
        sa.Column("started_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("voided_at", sa.DateTime(timezone=True), nullable=True),
        sa.CheckConstraint("pilot_id <> partner_id", name=op.f("ck_sharing_two_pilots")),
        sa.ForeignKeyConstraint(["meet_id"], ["meet.id"], name=op.f("fk_sharing_meet_id_meet")),
        sa.ForeignKeyConstraint(["partner_id"], ["pilot.id"], name=op.f("fk_sharing_partner_id_pilot")),
        sa.ForeignKeyConstraint(["pilot_id"], ["pilot.id"], name=op.f("fk_sharing_pilot_id_pilot")),
        sa.ForeignKeyConstraint(["token_id"], ["token.id"], name=op.f("fk_sharing_token_id_token")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sharing")),
    )
    with op.batch_alter_table("sharing", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_sharing_meet_id"), ["meet_id"], unique=False)
        batch_op.create_index(
            "uq_sharing_partner",
            ["partner_id"],
            unique=True,
            sqlite_where=sa.text("ended_at IS NULL AND voided_at IS NULL"),
            postgresql_where=sa.text("ended_at IS NULL AND voided_at IS NULL"),
        )
        batch_op.create_index(
            "uq_sharing_token",
            ["token_id"],
            unique=True,
            sqlite_where=sa.text("ended_at IS NULL AND voided_at IS NULL"),
            postgresql_where=sa.text("ended_at IS NULL AND voided_at IS NULL"),
        )

    op.create_table(
        "clash_report",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("meet_id", sa.Integer(), nullable=False),
        sa.Column("pilot_id", sa.Integer(), nullable=True),
        sa.Column("loan_id", sa.Integer(), nullable=True),
        sa.Column("happened_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("window_s", sa.Integer(), nullable=False),
        sa.Column("look", sa.String(), nullable=False),
        sa.Column("place", sa.String(), nullable=False),
        sa.Column("lasted_s", sa.Integer(), nullable=True),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("entered_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("voided_at", sa.DateTime(timezone=True), nullable=True),
        sa.CheckConstraint(
            "look IN ('lines', 'other_picture', 'gone', 'colour', 'unsure')", name=op.f("ck_clash_report_look_known")
        ),
        sa.CheckConstraint("place IN ('pits', 'line', 'flight', 'unsure')", name=op.f("ck_clash_report_place_known")),
        sa.ForeignKeyConstraint(["loan_id"], ["loan.id"], name=op.f("fk_clash_report_loan_id_loan")),
        sa.ForeignKeyConstraint(["meet_id"], ["meet.id"], name=op.f("fk_clash_report_meet_id_meet")),
        sa.ForeignKeyConstraint(["pilot_id"], ["pilot.id"], name=op.f("fk_clash_report_pilot_id_pilot")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_clash_report")),
    )
    with op.batch_alter_table("clash_report", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_clash_report_meet_id"), ["meet_id"], unique=False)

    op.create_table(
        "loan_setting",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("loan_id", sa.Integer(), nullable=False),
        sa.Column("transmitter_id", sa.Integer(), nullable=True),
        sa.Column("label", sa.String(), nullable=False),
        sa.Column("mhz", sa.Integer(), nullable=False),
        sa.Column("width_mhz", sa.Float(), nullable=False),
        sa.Column("power_mw", sa.Float(), nullable=True),
        sa.Column("wake_before_mhz", sa.Integer(), nullable=True),
        sa.Column("since_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("until_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("voided_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["loan_id"], ["loan.id"], name=op.f("fk_loan_setting_loan_id_loan")),
        sa.ForeignKeyConstraint(
            ["transmitter_id"], ["pilot_transmitter.id"], name=op.f("fk_loan_setting_transmitter_id_pilot_transmitter")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_loan_setting")),
    )
    with op.batch_alter_table("loan_setting", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_loan_setting_loan_id"), ["loan_id"], unique=False)
        batch_op.create_index(
            "uq_loan_setting_current",
            ["loan_id"],
            unique=True,
            sqlite_where=sa.text("until_at IS NULL AND voided_at IS NULL"),
            postgresql_where=sa.text("until_at IS NULL AND voided_at IS NULL"),
        )

    op.create_table(
        "pass_offer",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("meet_id", sa.Integer(), nullable=False),
        sa.Column("loan_id", sa.Integer(), nullable=False),
        sa.Column("to_pilot_id", sa.Integer(), nullable=False),
        sa.Column("started_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("was_taken", sa.Boolean(), nullable=False),
        sa.Column("voided_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["loan_id"], ["loan.id"], name=op.f("fk_pass_offer_loan_id_loan")),
        sa.ForeignKeyConstraint(["meet_id"], ["meet.id"], name=op.f("fk_pass_offer_meet_id_meet")),
        sa.ForeignKeyConstraint(["to_pilot_id"], ["pilot.id"], name=op.f("fk_pass_offer_to_pilot_id_pilot")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_pass_offer")),
    )
    with op.batch_alter_table("pass_offer", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_pass_offer_meet_id"), ["meet_id"], unique=False)
        batch_op.create_index(
            "uq_pass_offer_loan",
            ["loan_id"],
            unique=True,
            sqlite_where=sa.text("ended_at IS NULL AND voided_at IS NULL"),
            postgresql_where=sa.text("ended_at IS NULL AND voided_at IS NULL"),
        )


def downgrade() -> None:
    with op.batch_alter_table("pass_offer", schema=None) as batch_op:
        batch_op.drop_index(
            "uq_pass_offer_loan",
            sqlite_where=sa.text("ended_at IS NULL AND voided_at IS NULL"),
            postgresql_where=sa.text("ended_at IS NULL AND voided_at IS NULL"),
        )
        batch_op.drop_index(batch_op.f("ix_pass_offer_meet_id"))

    op.drop_table("pass_offer")
    with op.batch_alter_table("loan_setting", schema=None) as batch_op:
        batch_op.drop_index(
            "uq_loan_setting_current",
            sqlite_where=sa.text("until_at IS NULL AND voided_at IS NULL"),
            postgresql_where=sa.text("until_at IS NULL AND voided_at IS NULL"),
        )
        batch_op.drop_index(batch_op.f("ix_loan_setting_loan_id"))

    op.drop_table("loan_setting")
    with op.batch_alter_table("clash_report", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_clash_report_meet_id"))

    op.drop_table("clash_report")
    with op.batch_alter_table("sharing", schema=None) as batch_op:
        batch_op.drop_index(
            "uq_sharing_token",
            sqlite_where=sa.text("ended_at IS NULL AND voided_at IS NULL"),
            postgresql_where=sa.text("ended_at IS NULL AND voided_at IS NULL"),
        )
        batch_op.drop_index(
            "uq_sharing_partner",
            sqlite_where=sa.text("ended_at IS NULL AND voided_at IS NULL"),
            postgresql_where=sa.text("ended_at IS NULL AND voided_at IS NULL"),
        )
        batch_op.drop_index(batch_op.f("ix_sharing_meet_id"))

    op.drop_table("sharing")
    with op.batch_alter_table("pause", schema=None) as batch_op:
        batch_op.drop_index(
            "uq_pause_running",
            sqlite_where=sa.text("ended_at IS NULL AND voided_at IS NULL"),
            postgresql_where=sa.text("ended_at IS NULL AND voided_at IS NULL"),
        )
        batch_op.drop_index(batch_op.f("ix_pause_meet_id"))

    op.drop_table("pause")
    op.drop_table("meet_token")
    with op.batch_alter_table("loan", schema=None) as batch_op:
        batch_op.drop_index(
            "uq_loan_open_token",
            sqlite_where=sa.text("in_at IS NULL AND voided_at IS NULL"),
            postgresql_where=sa.text("in_at IS NULL AND voided_at IS NULL"),
        )
        batch_op.drop_index(
            "uq_loan_open_pilot",
            sqlite_where=sa.text("in_at IS NULL AND voided_at IS NULL"),
            postgresql_where=sa.text("in_at IS NULL AND voided_at IS NULL"),
        )
        batch_op.drop_index(batch_op.f("ix_loan_token_id"))
        batch_op.drop_index(batch_op.f("ix_loan_pilot_id"))
        batch_op.drop_index(batch_op.f("ix_loan_meet_id"))

    op.drop_table("loan")
    with op.batch_alter_table("line_entry", schema=None) as batch_op:
        batch_op.drop_index(
            "uq_line_entry_standing",
            sqlite_where=sa.text("left_at IS NULL AND voided_at IS NULL"),
            postgresql_where=sa.text("left_at IS NULL AND voided_at IS NULL"),
        )
        batch_op.drop_index(batch_op.f("ix_line_entry_pilot_id"))
        batch_op.drop_index(batch_op.f("ix_line_entry_meet_id"))

    op.drop_table("line_entry")
    with op.batch_alter_table("journal_line", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_journal_line_meet_id"))

    op.drop_table("journal_line")
    op.drop_table("desk_session")
    with op.batch_alter_table("attendance", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_attendance_pilot_id"))
        batch_op.drop_index(batch_op.f("ix_attendance_meet_id"))

    op.drop_table("attendance")
    with op.batch_alter_table("alarm", schema=None) as batch_op:
        batch_op.drop_index(
            "uq_alarm_running",
            sqlite_where=sa.text("ended_at IS NULL AND voided_at IS NULL"),
            postgresql_where=sa.text("ended_at IS NULL AND voided_at IS NULL"),
        )
        batch_op.drop_index(batch_op.f("ix_alarm_meet_id"))

    op.drop_table("alarm")
    with op.batch_alter_table("pilot_transmitter", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_pilot_transmitter_pilot_id"))

    op.drop_table("pilot_transmitter")
    with op.batch_alter_table("neighbour", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_neighbour_site_id"))

    op.drop_table("neighbour")
    with op.batch_alter_table("meet", schema=None) as batch_op:
        batch_op.drop_index(
            "uq_meet_one_open", sqlite_where=sa.text("state = 'open'"), postgresql_where=sa.text("state = 'open'")
        )

    op.drop_table("meet")
    op.drop_table("site")
    with op.batch_alter_table("plan_channel", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_plan_channel_plan_id"))

    op.drop_table("plan_channel")
    with op.batch_alter_table("pilot", schema=None) as batch_op:
        batch_op.drop_index("uq_pilot_link_hash")

    op.drop_table("pilot")
    with op.batch_alter_table("band_segment", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_band_segment_profile_id"))

    op.drop_table("band_segment")
    op.drop_table("transmitter_kind")
    op.drop_table("token")
    op.drop_table("operation")
    op.drop_table("installation")
    op.drop_table("club")
    op.drop_table("channel_plan")
    op.drop_table("band_profile")
