"""What a quote costs its dealer, beside the answer that is the customer's to see.

Quotes there are before have none.

Revision: 0004, after 0003, 2026-11-25
"""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    op.add_column("quotes", sa.Column("costs", sa.LargeBinary(), nullable=True))


def downgrade() -> None:
    op.drop_column("quotes", "costs")
