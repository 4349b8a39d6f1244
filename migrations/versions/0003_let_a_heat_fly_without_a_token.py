"""Let a heat fly without somebody who got no token"""

from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    known = op.f("ck_heat_seat_missing_known")
    with op.batch_alter_table("heat_seat", schema=None) as batch_op:
        batch_op.drop_constraint(known, type_="check")
        batch_op.create_check_constraint(known, "missing IN ('', 'no_show', 'broken', 'left', 'no_token')")
