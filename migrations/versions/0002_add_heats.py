"""Add heats"""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "heat_plan",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("meet_id", sa.Integer(), nullable=False),
        sa.Column("size", sa.Integer(), nullable=False),
        sa.Column("rounds", sa.Integer(), nullable=False),
        sa.Column("pads", sa.Integer(), nullable=True),
        sa.Column("spacing_floor_mhz", sa.Float(), nullable=False),
        sa.Column("clearance_floor_mhz", sa.Float(), nullable=True),
        sa.Column("heats_per_round", sa.Integer(), nullable=False),
        sa.Column("heats_bound", sa.Integer(), nullable=False),
        sa.Column("heats_proven", sa.Boolean(), nullable=False),
        sa.Column("channel_changes", sa.Integer(), nullable=False),
        sa.Column("changes_bound", sa.Integer(), nullable=False),
        sa.Column("changes_proven", sa.Boolean(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("voided_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["meet_id"], ["meet.id"], name=op.f("fk_heat_plan_meet_id_meet")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_heat_plan")),
    )
    with op.batch_alter_table("heat_plan", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_heat_plan_meet_id"), ["meet_id"], unique=False)
        batch_op.create_index(
            "uq_heat_plan_current",
            ["meet_id"],
            unique=True,
            sqlite_where=sa.text("ended_at IS NULL AND voided_at IS NULL"),
            postgresql_where=sa.text("ended_at IS NULL AND voided_at IS NULL"),
        )

    op.create_table(
        "heat",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("meet_id", sa.Integer(), nullable=False),
        sa.Column("plan_id", sa.Integer(), nullable=False),
        sa.Column("round", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("again_for_id", sa.Integer(), nullable=True),
        sa.Column("called_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("landed_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("voided_at", sa.DateTime(timezone=True), nullable=True),
        sa.CheckConstraint(
            "state IN ('planned', 'called', 'flown', 'voided', 'dropped')", name=op.f("ck_heat_state_known")
        ),
        sa.ForeignKeyConstraint(["again_for_id"], ["heat.id"], name=op.f("fk_heat_again_for_id_heat")),
        sa.ForeignKeyConstraint(["meet_id"], ["meet.id"], name=op.f("fk_heat_meet_id_meet")),
        sa.ForeignKeyConstraint(["plan_id"], ["heat_plan.id"], name=op.f("fk_heat_plan_id_heat_plan")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_heat")),
    )
    with op.batch_alter_table("heat", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_heat_meet_id"), ["meet_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_heat_plan_id"), ["plan_id"], unique=False)
        batch_op.create_index(
            "uq_heat_called",
            ["meet_id"],
            unique=True,
            sqlite_where=sa.text("state = 'called' AND voided_at IS NULL"),
            postgresql_where=sa.text("state = 'called' AND voided_at IS NULL"),
        )

    op.create_table(
        "heat_seat",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("heat_id", sa.Integer(), nullable=False),
        sa.Column("pilot_id", sa.Integer(), nullable=False),
        sa.Column("transmitter_id", sa.Integer(), nullable=False),
        sa.Column("token_id", sa.Integer(), nullable=False),
        sa.Column("label", sa.String(), nullable=False),
        sa.Column("mhz", sa.Integer(), nullable=False),
        sa.Column("width_mhz", sa.Float(), nullable=False),
        sa.Column("pad", sa.Integer(), nullable=False),
        sa.Column("missing", sa.String(), nullable=False),
        sa.Column("is_up_late", sa.Boolean(), nullable=False),
        sa.Column("voided_at", sa.DateTime(timezone=True), nullable=True),
        sa.CheckConstraint("missing IN ('', 'no_show', 'broken', 'left')", name=op.f("ck_heat_seat_missing_known")),
        sa.ForeignKeyConstraint(["heat_id"], ["heat.id"], name=op.f("fk_heat_seat_heat_id_heat")),
        sa.ForeignKeyConstraint(["pilot_id"], ["pilot.id"], name=op.f("fk_heat_seat_pilot_id_pilot")),
        sa.ForeignKeyConstraint(["token_id"], ["token.id"], name=op.f("fk_heat_seat_token_id_token")),
        sa.ForeignKeyConstraint(
            ["transmitter_id"], ["pilot_transmitter.id"], name=op.f("fk_heat_seat_transmitter_id_pilot_transmitter")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_heat_seat")),
    )
    with op.batch_alter_table("heat_seat", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_heat_seat_heat_id"), ["heat_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_heat_seat_pilot_id"), ["pilot_id"], unique=False)
        batch_op.create_index(
            "uq_heat_seat_pilot",
            ["heat_id", "pilot_id"],
            unique=True,
            sqlite_where=sa.text("voided_at IS NULL"),
            postgresql_where=sa.text("voided_at IS NULL"),
        )
