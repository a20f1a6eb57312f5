"""Run the migrations on the connection that `refstd.register.care` hands over, inside its transaction."""

from alembic import context

connection = context.config.attributes["connection"]
context.configure(connection=connection, transactional_ddl=True)
context.run_migrations()
