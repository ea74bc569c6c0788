"""More records that are only ever added to."""

from alembic import op

from app.records.store.migrate import add_only

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

# The new add-only tables of 0003.
ADD_ONLY: tuple[str, ...] = (
    "bank_reading",
    "batch_air",
    "compressor_output",
    "compressor_service",
    "cylinder_test",
    "earlier_batch",
    "earlier_dive",
    "earlier_taken_back",
    "emergency_oxygen",
    "gauge_doubt",
    "gauge_look",
    "kit_fit",
    "kit_needs",
    "lead_stock",
    "other_dive",
    "picture",
    "size_chart",
    "stocktake_mark",
)


def upgrade() -> None:
    add_only(op, ADD_ONLY)


def downgrade() -> None:
    raise RuntimeError("Going back would let safety records be rewritten; restore a backup instead.")
