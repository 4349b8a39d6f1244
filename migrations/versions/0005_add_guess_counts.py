"""Add counts of wrong guesses"""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "guess_source",
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("source", sa.String(), nullable=False),
        sa.Column("wrong", sa.Integer(), nullable=False),
        sa.Column("last_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("has_fitted", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("what", "source", name=op.f("pk_guess_source")),
    )
    with op.batch_alter_table("guess_source", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_guess_source_last_at"), ["last_at"], unique=False)

    op.create_table(
        "guess_crowd",
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("wrong_at", sa.JSON(), nullable=False),
        sa.Column("next_turn", sa.DateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("what", name=op.f("pk_guess_crowd")),
    )
