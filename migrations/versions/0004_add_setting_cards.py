"""Add setting cards to kinds of transmitter"""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("transmitter_kind", schema=None) as batch_op:
        batch_op.add_column(sa.Column("setting_card", sa.String(), nullable=True))
